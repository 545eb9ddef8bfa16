package sink

import (
	"testing"
	"time"

	"fairlead/ingest/contract/event"
	"fairlead/processors/hub/store"
)

// corrected is a bay with one open session of n shots, in which old shots are
// excluded, moved, read in another direction, read again, and at last forgotten.
// It returns a sum over all rows after each, and how many lines are held.
func corrected(t *testing.T, s *store.Store, begin time.Time, n, keep int) (sums []string, held int) {
	t.Helper()
	say := func(id string, after time.Duration, ev *event.VisitEvent) *event.VisitEvent {
		ev.Contract, ev.Studio, ev.Bay, ev.Session, ev.Visit, ev.Id = 1, benchPlace.Studio, benchPlace.Bay, "s", "v", id
		ev.EffectiveUnixNs = begin.Add(after).UnixNano()
		ev.RecordedUnixNs = ev.EffectiveUnixNs
		return ev
	}
	w := workerOf(t, s, []*event.VisitEvent{
		say("a", 0, &event.VisitEvent{Body: &event.VisitEvent_SessionOpened{SessionOpened: &event.SessionOpened{Player: "p",
			Hand: event.Hand_HAND_RIGHT, Category: "iron"}}}),
		say("b", time.Second, &event.VisitEvent{Body: &event.VisitEvent_TrialStarted{TrialStarted: &event.TrialStarted{Trial: "t1",
			Build: &event.Build{Name: "b"}}}}),
		say("c", 3*time.Hour, &event.VisitEvent{Body: &event.VisitEvent_TrialStarted{TrialStarted: &event.TrialStarted{Trial: "t2",
			Build: &event.Build{Name: "c"}}}}),
	})
	w.keep = keep
	read := event.NewReader()
	line := func(i int, journal string) taken {
		e := benchEntry(i)
		e.Journal, e.Seq = journal, uint64(i)
		e.EffectiveUnixNs = begin.Add(time.Minute + time.Duration(i)*20*time.Second).UnixNano()
		e.ReceivedUnixNs = e.EffectiveUnixNs
		return take(given{data: marshal(t, e)}, benchPlace, read)
	}
	done := func(err error) {
		t.Helper()
		if err == nil {
			err = w.flush(t.Context())
		}
		if err != nil {
			t.Fatal(err)
		}
		const question = `SELECT toString(sum(cityHash64(journal, seq, shot_id, status, reason, session, trial, order_trial, order_session, length(entry),
			ifNull(toString(offline_m), ''), ifNull(toString(direction_deg), '')))) || ' ' || (SELECT toString(sum(cityHash64(trial, part, n, n_excluded, n_set_aside)))
			FROM trials FINAL) FROM entries FINAL`
		var sum string
		if err := s.Conn().QueryRow(t.Context(), question).Scan(&sum); err != nil {
			t.Fatal(err)
		}
		sums = append(sums, sum)
	}
	for i := 1; i <= n; i += 75 {
		var batch []taken
		for k := i; k < i+75; k++ {
			batch = append(batch, line(k, "00000000000000aa"))
		}
		done(w.takeShots(t.Context(), batch))
	}
	shot := func(i int) []byte { return benchEntry(i).ShotId }
	for _, ev := range []*event.VisitEvent{
		say("d", 9*time.Hour, &event.VisitEvent{Body: &event.VisitEvent_ShotsExcluded{ShotsExcluded: &event.ShotsExcluded{
			ShotIds: [][]byte{shot(5), shot(9)}, Reason: "slipped"}}}),
		say("e", 9*time.Hour, &event.VisitEvent{Body: &event.VisitEvent_ShotsMoved{ShotsMoved: &event.ShotsMoved{
			ShotIds: [][]byte{shot(7), shot(8), shot(11)}, Trial: "t2"}}}),
		say("f", 2*time.Second, &event.VisitEvent{Body: &event.VisitEvent_SettingChanged{SettingChanged: &event.SettingChanged{
			TargetBearingDeg: new(float64(3))}}}),
	} {
		done(w.takeEvents(t.Context(), []*event.VisitEvent{ev}))
	}
	// A line read again, and one that the store lost and its journal sends again.
	done(w.takeShots(t.Context(), []taken{line(3, "00000000000000bb")}))
	if err := s.Conn().Exec(t.Context(), "DELETE FROM entries WHERE seq = 12"); err != nil {
		t.Fatal(err)
	}
	done(w.takeEvents(t.Context(), []*event.VisitEvent{say("g", 9*time.Hour, &event.VisitEvent{Body: &event.VisitEvent_ShotsExcluded{
		ShotsExcluded: &event.ShotsExcluded{ShotIds: [][]byte{shot(12)}, Reason: "slipped"}}})}))
	done(w.takeShots(t.Context(), []taken{line(12, "00000000000000aa")}))
	for _, c := range w.board.sessions["s"] {
		if c.entry != nil {
			held++
		}
	}
	done(w.takeEvents(t.Context(), []*event.VisitEvent{say("h", 9*time.Hour, &event.VisitEvent{
		Body: &event.VisitEvent_SessionErased{SessionErased: &event.SessionErased{Player: "p"}}})}))
	return sums, held
}

// A worker lets the lines of old shots go once the store has them, and whatever
// is said of those shots later comes to the same as if it had kept them.
func TestLinesAreLetGo(t *testing.T) {
	const n, keep = 150, 20
	begin := time.Now().Add(-10 * time.Hour)
	whole, all := corrected(t, benchStore(t), begin, n, 10*n)
	lean, few := corrected(t, benchStore(t), begin, n, keep)
	if all < n || few > keep {
		t.Errorf("%d lines are held of %d, and %d where %d are kept", all, n, few, keep)
	}
	for i := range whole {
		// In between, a row that the store lost can't be written again by who let its line go.
		if lost := len(whole) - 3; i != lost && whole[i] != lean[i] {
			t.Errorf("after step %d the rows differ: %s, kept whole %s", i, lean[i], whole[i])
		}
	}
}
