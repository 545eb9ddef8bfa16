package sink

import (
	"testing"
	"time"

	"github.com/google/uuid"

	"fairlead/ingest/contract/event"
	"fairlead/processors/visit"
	"fairlead/processors/visit/tag"
)

// A backlog of old days is tagged in a bounded piece of memory, as if all of it
// had been held: rounds end in the middle of sessions, lines are read again long
// after their session was let go, and the tables come out the same.
func TestABacklogIsTaggedInBoundedMemory(t *testing.T) {
	const n, most = 12_000, 2000
	s := benchStore(t)
	w := benchWorker(t, s, n)
	w.most = most
	var batch []taken
	var facts []tag.Fact
	read := event.NewReader()
	forgotten := 0
	line := func(seq int, journal string) {
		e := benchEntry(seq)
		e.Journal, e.Seq = journal, uint64(seq)
		if journal != "00000000000000aa" { // the same line, read later
			e.ReceivedUnixNs += int64(30 * 24 * time.Hour)
		}
		facts = append(facts, tag.FactOf(e))
		batch = append(batch, take(given{data: marshal(t, e)}, benchPlace, read))
	}
	round := func() {
		if err := w.takeShots(t.Context(), batch); err != nil {
			t.Fatal(err)
		}
		if err := w.flush(t.Context()); err != nil {
			t.Fatal(err)
		}
		batch = nil
		if w.full() {
			w.forget(time.Now())
			forgotten++
		}
		if held := w.bay.Held(); held > most+700+300 { // a round and the session that it began in
			t.Fatalf("%d entries are held", held)
		}
	}
	for seq := 1; seq <= n; seq++ {
		line(seq, "00000000000000aa")
		if seq%7 == 0 && seq > 5000 {
			line(seq-5000, "00000000000000bb")
		}
		if len(batch) >= 700 {
			round()
		}
	}
	round()
	if forgotten < 4 {
		t.Errorf("it forgot %d times", forgotten)
	}
	var log visit.Log
	for _, ev := range benchEvents(n) {
		log.Add(ev)
	}
	want := tag.Compute(&log, facts)
	counting := map[string]uint64{} // shots by trial
	for _, t := range want {
		if t.Status == tag.Counts {
			counting[t.Trial]++
		}
	}
	rows, err := s.Conn().Query(t.Context(), "SELECT journal, seq, shot_id, status, trial, order_trial, order_session FROM entries FINAL")
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	for rows.Next() {
		var k tag.Key
		var id uuid.UUID
		var status, trial string
		var inTrial, inSession uint32
		if err := rows.Scan(&k.Journal, &k.Seq, &id, &status, &trial, &inTrial, &inSession); err != nil {
			t.Fatal(err)
		}
		k.ID = event.ShotID(id)
		x, ok := want[k]
		if !ok || status != x.Status.String() || trial != x.Trial || int(inTrial) != x.OrderInTrial || int(inSession) != x.OrderInSession {
			t.Fatalf("%s is stored as %s %q %d %d, want %+v", k, status, trial, inTrial, inSession, x)
		}
		delete(want, k)
	}
	if err := rows.Err(); err != nil {
		t.Fatal(err)
	}
	if len(want) > 0 {
		t.Errorf("%d entries are not stored", len(want))
	}
	byTrial, err := s.Conn().Query(t.Context(), "SELECT trial, n FROM trials FINAL")
	if err != nil {
		t.Fatal(err)
	}
	defer byTrial.Close()
	for byTrial.Next() {
		var trial string
		var shots uint32
		if err := byTrial.Scan(&trial, &shots); err != nil {
			t.Fatal(err)
		}
		if counting[trial] != uint64(shots) {
			t.Errorf("trial %s has %d shots, want %d", trial, shots, counting[trial])
		}
		delete(counting, trial)
	}
	if err := byTrial.Err(); err != nil || len(counting) > 0 {
		t.Errorf("%d trials are not stored, %v", len(counting), err)
	}
}
