package sink

import "time"

// A shot has its whole session tagged and shown anew: that is what makes a tag
// independent of when it was computed. Of some hundred shots it takes a
// millisecond. A session that nobody closes grows to tens of thousands, and would
// take a processor for itself: beyond large it works a quarter of the time, and
// takes more shots at once instead.
const (
	large    = 2000 // shots; ten times what a session has
	breather = 3    // times as long as the work took
	longest  = 2 * time.Second
)

// breath is how long to do nothing after work on so many shots.
func breath(took time.Duration, shots int) time.Duration {
	if shots < large {
		return 0
	}
	return min(breather*took, longest)
}

// rest is the pause of a worker between two rounds.
type rest struct{ timer *time.Timer }

// after begins a rest after a round, but for a backlog: what comes by the
// thousand has little to do a shot.
func (r *rest) after(took time.Duration, entries, held int) {
	if wait := breath(took, held); wait > 0 && entries < maxBatch/2 {
		r.timer = time.NewTimer(wait)
	}
}

func (r *rest) lasts() bool { return r.timer != nil }

// over says when it has ended.
func (r *rest) over() <-chan time.Time {
	if r.timer == nil {
		return nil
	}
	return r.timer.C
}

func (r *rest) end() {
	if r.timer != nil {
		r.timer.Stop()
		r.timer = nil
	}
}
