package sink

import (
	"cmp"
	"slices"
	"testing"

	"fairlead/ingest/contract/event"
)

// What was hit after a bay was taken over is stored before the rows of before are
// held against the store; of those only what is lost or says something else is
// written, and nothing that was tagged anew meanwhile.
func TestRowsInDoubtWaitAndAreWrittenWhereTheyDiffer(t *testing.T) {
	const n, altered, lost, excluded = 300, 250, 17, 100
	s := benchStore(t)
	events := openBay(t, s, n)
	// Once written as events and all, so that nothing but what follows is new.
	w := workerOf(t, s, events)
	if err := w.flush(t.Context()); err != nil {
		t.Fatal(err)
	}
	w = workerOf(t, s, events)
	for _, statement := range []string{"ALTER TABLE entries DELETE WHERE seq = 17 SETTINGS mutations_sync = 2",
		"ALTER TABLE entries UPDATE trial = 't0' WHERE seq IN (100, 250) SETTINGS mutations_sync = 2"} {
		if err := s.Conn().Exec(t.Context(), statement); err != nil {
			t.Fatal(err)
		}
	}
	last := slices.MaxFunc(w.board.sessions["s"], func(a, b *card) int { return cmp.Compare(a.key.Seq, b.key.Seq) })
	e := benchEntry(n + 1)
	e.Journal, e.Seq = last.key.Journal, n+1
	e.EffectiveUnixNs = last.effective + 1e9
	e.ReceivedUnixNs = e.EffectiveUnixNs
	if err := w.takeShots(t.Context(), []taken{take(given{data: marshal(t, e)}, benchPlace, event.NewReader())}); err != nil {
		t.Fatal(err)
	}
	id := benchEntry(excluded).ID()
	out := &event.VisitEvent{Contract: 1, Studio: benchPlace.Studio, Bay: benchPlace.Bay, Session: "s", Visit: "v", Id: "out",
		EffectiveUnixNs: e.EffectiveUnixNs, RecordedUnixNs: e.EffectiveUnixNs,
		Body: &event.VisitEvent_ShotsExcluded{ShotsExcluded: &event.ShotsExcluded{ShotIds: [][]byte{id[:]}, Reason: "topped"}}}
	if err := w.takeEvents(t.Context(), []*event.VisitEvent{out}); err != nil {
		t.Fatal(err)
	}
	var rounds [][]uint64
	for w.waits() {
		job := w.sure(t.Context(), w.next())
		var seqs []uint64
		for i := range job.entries {
			seqs = append(seqs, job.entries[i].Entry.Seq)
		}
		slices.Sort(seqs)
		rounds = append(rounds, seqs)
	}
	if len(rounds) != 2 || !slices.Contains(rounds[0], n+1) || !slices.Contains(rounds[0], excluded) ||
		len(rounds[0]) > n/2 || !slices.Equal(rounds[1], []uint64{lost, altered}) {
		t.Errorf("written were %v, want %d and %d first, then %d and %d", rounds, excluded, n+1, lost, altered)
	}
}
