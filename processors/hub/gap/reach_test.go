package gap

import (
	"context"
	"slices"
	"testing"
	"time"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/stream"
)

// reached is a log whose way to the store the test moves.
type reached struct{ end, stored uint64 }

func (r *reached) End(context.Context, stream.Place) (uint64, error)    { return r.end, nil }
func (r *reached) Stored(context.Context, stream.Place) (uint64, error) { return r.stored, nil }

// look is another look at a heartbeat a second later.
func (w *watched) look(h *event.Heartbeat, wantAgain bool) {
	w.t.Helper()
	w.mu.Lock()
	w.now = w.now.Add(time.Second)
	w.mu.Unlock()
	again, err := w.watch.Check(w.t.Context(), north, h)
	if err != nil || again != wantAgain {
		w.t.Errorf("to be looked at again: %v, want %v, %v", again, wantAgain, err)
	}
}

func holds(last, unsent uint64) *event.Heartbeat {
	return &event.Heartbeat{Unsent: unsent, Journals: []*event.JournalState{{Journal: "j", First: 1, Last: last, Active: true}}}
}

// What the log holds and the store has yet to take is not asked for, however long it
// takes; what the store passed over is, at the next look.
func TestWhatIsUnderwayIsNotAskedFor(t *testing.T) {
	w := newWatched(t)
	log := &reached{end: 25_000, stored: 5000}
	w.watch.Reach = log
	h := holds(20_000, 0)
	w.look(h, true)
	counted := len(w.above)
	for range 60 { // one turn of the store takes a minute
		log.stored += 10
		w.look(h, true)
	}
	w.requests()
	if len(w.above) != counted {
		t.Errorf("counted %d times, and nothing new was to be known", len(w.above)-counted)
	}
	w.store(1, 15_000)
	w.store(15_011, 20_000)
	log.stored = 25_000
	w.look(h, true)
	w.requests(Ranges{{15_001, 15_010}})
	w.store(15_001, 15_010)
	w.look(h, false)
	// What the bay has not sent is not missed, and is once it says that it was.
	w.look(holds(20_020, 20), false)
	log.end, log.stored = 25_020, 25_020
	h = holds(20_020, 0)
	w.look(h, true)
	w.look(h, true)
	w.requests(Ranges{{20_001, 20_020}})
}

// A way that stands still may have been lost.
func TestAWayThatStandsStillIsNotWaitedForForEver(t *testing.T) {
	w := newWatched(t)
	w.watch.Reach = &reached{end: 10, stored: 3}
	h := holds(10, 0)
	for range int(stuck / time.Second) {
		w.look(h, true)
		w.requests()
	}
	w.look(h, true)
	w.look(h, true)
	w.requests(Ranges{{1, 10}})
	// It still does: what is sent again the whole time would lengthen it.
	w.store(1, 2)
	for range int(2*stuck/time.Second) - 2 {
		w.look(h, true)
		w.requests()
	}
	for range 4 {
		w.look(h, true)
	}
	w.requests(Ranges{{3, 10}})
}

func TestSentAndSets(t *testing.T) {
	h := &event.Heartbeat{Unsent: 12, Journals: []*event.JournalState{{First: 1, Last: 40}, {First: 5, Last: 4}, {First: 1, Last: 10}}}
	if got := sent(h); !slices.Equal(got, []uint64{38, 4, 0}) {
		t.Errorf("sent up to %v", got)
	}
	a, b := Ranges{{1, 5}, {8, 9}, {20, 30}}, Ranges{{4, 8}, {9, 22}, {30, 40}}
	if got := a.And(b); !slices.Equal(got, Ranges{{4, 5}, {8, 8}, {9, 9}, {20, 22}, {30, 30}}) {
		t.Errorf("in both: %v", got)
	}
	if got := a.upTo(8); !slices.Equal(got, Ranges{{1, 5}, {8, 8}}) {
		t.Errorf("up to 8: %v", got)
	}
}
