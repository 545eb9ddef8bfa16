package gap

import (
	"context"
	"time"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/stream"
)

// Reach tells how far what the log holds of a bay was stored. What the log holds
// beyond is on its way, however long that takes: to ask the bay for it again would
// only lengthen the way.
type Reach interface {
	// End is the number of the bay's last message in the log; 0: there is none.
	End(ctx context.Context, place stream.Place) (uint64, error)
	// Stored is the number up to which the bay's messages were stored.
	Stored(ctx context.Context, place stream.Place) (uint64, error)
}

const (
	// stuck is how long a way may make no progress before what is on it is asked for all
	// the same: an acknowledgement may have been lost, or whoever reads the log.
	stuck = 30 * time.Second
	// mostStalls bounds how often that doubles, each time that it was asked for and the
	// way still got nowhere: on a machine out of breath, what is sent again every half
	// minute lengthens the way faster than it is gone.
	mostStalls = 5
)

// underway is what was not stored at a count, though the bay had sent it.
type underway struct {
	entries Ranges
	end     uint64 // of the log after the count: once that is stored, what is not was lost
	known   bool   // end is
	stored  uint64
	moved   time.Time // when stored last rose
	stalled bool      // it did not for too long
}

// reaches leaves out consoles, whose events wait for no consumer.
func (w *Watch) reaches(place stream.Place) bool {
	return w.Reach != nil && place.Bay != stream.ConsoleBay
}

func (w *Watch) known(key Key) Journal {
	w.mu.Lock()
	defer w.mu.Unlock()
	if j := w.journals[key]; j != nil {
		return *j
	}
	return Journal{}
}

// passed says whether a journal's entries were on their way, and whether all that the
// log then held is stored by now.
func (w *Watch) passed(ctx context.Context, key Key) (passed, waits bool) {
	j := w.known(key)
	u, patience := j.wait, stuck<<min(j.stalls, mostStalls)
	if u == nil || !w.reaches(key.Place) {
		return false, false
	}
	now := w.now()
	if !u.known {
		end, err := w.Reach.End(ctx, key.Place)
		if err != nil {
			u.stalled = now.Sub(u.moved) >= patience
			return u.stalled, true
		}
		u.end, u.known, u.moved = end, true, now
	}
	stored, err := w.Reach.Stored(ctx, key.Place)
	if err == nil && stored > u.stored {
		u.stored, u.moved = stored, now
	}
	arrived := err == nil && stored >= u.end
	u.stalled = !arrived && now.Sub(u.moved) >= patience
	return arrived || u.stalled, true
}

// settle takes what a count found missing of what the bay sent, and says what of it
// was lost: what was missing before and is still, though the log's end of then is stored.
func (w *Watch) settle(ctx context.Context, key Key, missing Ranges, passed bool) (lost Ranges) {
	w.mu.Lock()
	j := w.journals[key]
	if passed && j.wait != nil {
		lost = j.wait.entries.And(missing)
		if !j.wait.stalled {
			j.stalls = 0
		} else if len(lost) > 0 {
			j.stalls++
		}
		j.wait = nil
	}
	began := j.wait == nil && len(missing) > 0 && len(lost) == 0
	if began {
		j.wait = &underway{entries: missing, moved: w.now()}
	} else if len(missing) == 0 {
		j.wait, j.stalls = nil, 0
	}
	w.mu.Unlock()
	if began {
		w.passed(ctx, key) // learns where the log ends
	}
	return lost
}

// sent is the last seq of each journal that the bay has sent: journals are sent in
// their order, and it says how many entries are not.
func sent(h *event.Heartbeat) []uint64 {
	out, left := make([]uint64, len(h.Journals)), h.Unsent
	for i := len(h.Journals) - 1; i >= 0; i-- {
		s := h.Journals[i]
		n := min(left, s.Last+1-min(s.First, s.Last+1))
		out[i], left = s.Last-min(n, s.Last), left-n
	}
	return out
}

// upTo is what of the set is no higher.
func (r Ranges) upTo(seq uint64) (out Ranges) {
	for _, x := range r {
		if x.From <= seq {
			out = append(out, Range{x.From, min(x.To, seq)})
		}
	}
	return out
}

// And is what is in both sets.
func (r Ranges) And(o Ranges) (out Ranges) {
	for i, k := 0, 0; i < len(r) && k < len(o); {
		if from, to := max(r[i].From, o[k].From), min(r[i].To, o[k].To); from <= to {
			out = append(out, Range{from, to})
		}
		if r[i].To < o[k].To {
			i++
		} else {
			k++
		}
	}
	return out
}
