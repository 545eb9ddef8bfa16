package process

import (
	"context"
	"fmt"
	"slices"
	"testing"
	"time"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/stream"
	"fairlead/processors/ask/audit"
	"fairlead/processors/ask/erase"
	"fairlead/processors/visit"
)

// eraser writes its events as the console does.
func (b *bench) eraser() *erase.Eraser {
	var places []stream.Place
	for _, y := range b.bays {
		places = append(places, y.place)
	}
	said := map[string]bool{}
	return &erase.Eraser{
		Store: b.store, Studio: b.studio, Places: places, Now: time.Now, Wait: 30 * time.Second, Who: "test",
		Write: func(_ context.Context, bay string, ev *event.VisitEvent) error {
			if said[ev.Id] { // as the console: one fact under one id
				return nil
			}
			said[ev.Id] = true
			now := time.Now().UnixNano()
			ev.Contract, ev.Studio, ev.Bay, ev.RecordedUnixNs, ev.EffectiveUnixNs = event.Contract, b.studio, bay, now, now
			if faults := visit.Validate(ev, time.Now()); len(faults) > 0 {
				return fmt.Errorf("%v", faults)
			}
			b.console.append(ev)
			return nil
		},
	}
}

// others is a hash of all rows of every session but one, insert times and
// versions aside: bit for bit.
func (b *bench) others(session string) []string {
	b.t.Helper()
	var out []string
	for _, q := range []string{
		"SELECT count(), sum(cityHash64(toString(tuple(* EXCEPT (version, inserted))))) FROM entries FINAL WHERE session != '%s' AND NOT erased",
		"SELECT count(), sum(cityHash64(toString(tuple(* EXCEPT (version, inserted))))) FROM trials FINAL WHERE session != '%s' AND n > 0",
		"SELECT count(), sum(cityHash64(toString(tuple(* EXCEPT (version))))) FROM verdicts FINAL WHERE session != '%s'",
		"SELECT count(), sum(cityHash64(toString(tuple(* EXCEPT (inserted))))) FROM visit_events FINAL WHERE session != '%s'",
	} {
		var n, sum uint64
		if err := b.store.Conn().QueryRow(b.t.Context(), fmt.Sprintf(q, session)).Scan(&n, &sum); err != nil {
			b.t.Fatal(err)
		}
		out = append(out, fmt.Sprint(n, " ", sum))
	}
	return out
}

// A player is forgotten: the audit stays clean, a replay of the log brings
// nothing back, nor does a hub that takes over, and nobody else's row changes.
func TestAPlayerIsForgotten(t *testing.T) {
	t.Parallel()
	b := newBench(t, setup{})
	y, z := b.bay("north"), b.bay("quay")
	b.startHub()
	z.day()
	// Another player before, in the same bay; a line that is read twice, and one
	// that is no shot.
	y.say(&event.VisitEvent{Session: "s-other", Body: &event.VisitEvent_SessionOpened{SessionOpened: &event.SessionOpened{Player: "p-other",
		Category: "iron", PoolingConsent: true, Aim: "higher"}}})
	y.say(&event.VisitEvent{Session: "s-other",
		Body: &event.VisitEvent_TrialStarted{TrialStarted: &event.TrialStarted{Trial: "t-other", Build: &event.Build{Name: "other"}}}})
	y.hit(5)
	y.arrived()
	first := y.stored()
	y.say(&event.VisitEvent{Session: "s-ada", Body: &event.VisitEvent_SessionOpened{SessionOpened: &event.SessionOpened{
		Player: "p-ada", Hand: event.Hand_HAND_LEFT, Category: "iron", PoolingConsent: true, Aim: "softer-landing-words"}}})
	y.say(&event.VisitEvent{Session: "s-ada", Body: &event.VisitEvent_TrialStarted{TrialStarted: &event.TrialStarted{Trial: "t-ada",
		Build: &event.Build{Name: "adas-own", Gamer: true}}}})
	y.hit(12)
	y.write("not,a,shot")
	y.arrived()
	y.say(&event.VisitEvent{Session: "s-ada",
		Body: &event.VisitEvent_FeelNoted{FeelNoted: &event.FeelNoted{Trial: "t-ada", Words: "heavy-words"}}})
	y.say(&event.VisitEvent{Session: "s-ada",
		Body: &event.VisitEvent_VerdictGiven{VerdictGiven: &event.VerdictGiven{Kind: event.VerdictKind_VERDICT_KEEP_GAMER, Trial: "t-ada",
			Words: "keep-words"}}})

	e := b.eraser()
	b.untilStored("the session is stored", func() bool { return b.trialN("t-ada") == 12 })
	plan, err := e.Plan(t.Context(), "p-ada")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := e.Run(t.Context(), plan); err == nil {
		t.Error("a player in the bay was erased")
	}
	y.say(&event.VisitEvent{Session: "s-ada", Body: &event.VisitEvent_SessionClosed{SessionClosed: &event.SessionClosed{}}})
	b.whole()
	before, untouched := b.checksums(), b.others("s-ada")
	b.replayed(before)

	if plan, err = e.Plan(t.Context(), "p-ada"); err != nil {
		t.Fatal(err)
	}
	if len(plan.Sessions) != 1 || plan.Held.Entries != 13 || plan.Held.Trials == 0 || plan.Held.Verdicts != 1 || plan.Held.Events < 5 {
		t.Errorf("plan %+v", plan)
	}
	left, err := e.Run(t.Context(), plan)
	if err != nil || left.Sum() != 0 {
		t.Fatalf("left %+v, %v", left, err)
	}
	b.gone("p-ada", "softer-landing-words", "heavy-words", "keep-words", "adas-own")
	if n := b.countOf("SELECT count() FROM entries FINAL WHERE erased AND status IN ('erased', 'rejected')"); n != 13 {
		t.Errorf("%d rows keep the place of 13 entries", n)
	}
	if n := b.countOf("SELECT count() FROM entries WHERE erased AND (isNotNull(carry_m) OR isNotNull(direction_deg) OR player != '' OR " +
		"entry LIKE '%0%,%' OR file != '')"); n != 0 {
		t.Errorf("%d erased rows still say something", n)
	}
	if got := b.others("s-ada"); !slices.Equal(got, untouched) {
		t.Errorf("rows of others changed from %v to %v", untouched, got)
	}
	b.whole()
	b.audited()
	after := b.checksums()
	b.replayed(after)

	// A hub that takes over, and an erasure that is asked for again.
	b.stopHub()
	b.startHub()
	y.hit(3) // nobody's
	b.untilStored("the new hub takes shots", func() bool { return y.stored() >= first+16 })
	b.whole()
	b.gone("p-ada", "softer-landing-words", "heavy-words", "keep-words", "adas-own")
	if plan, err = e.Plan(t.Context(), "p-ada"); err != nil || !plan.Known() || plan.Held.Sum() != 0 || plan.Before == nil ||
		plan.Before.Finished.IsZero() {
		t.Fatalf("again: %+v, %v", plan, err)
	}
	if left, err := e.Run(t.Context(), plan); err != nil || left.Sum() != 0 {
		t.Errorf("again: %+v, %v", left, err)
	}
	if plan, err = e.Plan(t.Context(), "p-nobody"); err != nil || plan.Known() {
		t.Errorf("nobody is known: %+v, %v", plan, err)
	}
}

// Killed half-way: the erasure stands in the log and nothing else was done; the
// hub is down, comes back, and whoever asks again finishes it.
func TestAnErasureThatWasCutShortIsFinished(t *testing.T) {
	t.Parallel()
	b := newBench(t, setup{})
	y := b.bay("pier")
	b.startHub()
	y.day()
	b.whole()
	e := b.eraser()
	var player string
	if err := b.store.Conn().QueryRow(t.Context(), "SELECT any(player) FROM entries FINAL WHERE player != ''").Scan(&player); err != nil ||
		player == "" {
		t.Fatal("nothing was hit", err)
	}
	y.say(&event.VisitEvent{Body: &event.VisitEvent_SessionClosed{SessionClosed: &event.SessionClosed{}}})
	b.whole()
	b.stopHub()
	plan, err := e.Plan(t.Context(), player)
	if err != nil {
		t.Fatal(err)
	}
	e.Wait = time.Second
	write := e.Write
	var said *event.VisitEvent
	e.Write = func(ctx context.Context, bay string, ev *event.VisitEvent) error {
		if said == nil {
			said = ev
		}
		return write(ctx, bay, ev)
	}
	if _, err := e.Run(t.Context(), plan); err == nil {
		t.Fatal("finished without a hub")
	}
	// The event reached the store and nothing else did: a hub that died in between.
	held := b.console.journal.Journals()
	said.Journal, said.Seq = held[len(held)-1].ID, held[len(held)-1].Last
	if err := b.store.InsertEvents(t.Context(), []*event.VisitEvent{said}); err != nil {
		t.Fatal(err)
	}
	b.startHub()
	e.Wait = 30 * time.Second
	if plan, err = e.Plan(t.Context(), player); err != nil {
		t.Fatal(err)
	}
	if left, err := e.Run(t.Context(), plan); err != nil || left.Sum() != 0 {
		t.Fatalf("left %+v, %v", left, err)
	}
	b.gone(player)
	b.whole()
	b.audited()
	b.replayed(b.checksums())
}

// gone fails when some table holds one of the words, in whatever version.
func (b *bench) gone(words ...string) {
	b.t.Helper()
	for _, table := range []string{"entries", "trials", "verdicts", "visit_events"} {
		for _, w := range words {
			where := fmt.Sprintf("position(toString(tuple(*)), '%s') > 0", w)
			if table == "visit_events" {
				where += " AND kind != 'session_erased'"
			}
			if n := b.countOf("SELECT count() FROM " + table + " WHERE " + where); n != 0 {
				b.t.Errorf("%s: %d rows still hold %q", table, n, w)
			}
		}
	}
}

func (b *bench) countOf(question string) (n uint64) {
	b.t.Helper()
	if err := b.store.Conn().QueryRow(b.t.Context(), question).Scan(&n); err != nil {
		b.t.Fatal(err)
	}
	return n
}

// audited fails unless the audit of all bays, tags included, is clean.
func (b *bench) audited() {
	b.t.Helper()
	nc, js := b.connect()
	r, err := audit.Auditor{Conn: nc, JS: js, Store: b.store, Wait: 5 * time.Second, Tags: true,
		Again: 200 * time.Millisecond}.Run(b.t.Context(), b.studio, b.bayPlaces())
	if err != nil {
		b.t.Fatal(err)
	}
	if r.Wrong() || r.Unknown() {
		b.t.Errorf("the audit says %+v", r)
	}
}
