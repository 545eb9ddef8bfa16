package relay

import (
	"context"
	"maps"
	"time"
)

// What the log acknowledged it may lose all the same while it has not synced it: its
// broker is killed, its machine loses power, a leader goes with what the others had
// not got. Nobody learns of that sooner than whoever sent it: when a connection came
// back, or a process began, what was sent in the last minutes is sent again. The
// broker swallows what it still has, for it reads anew which ids its messages bear;
// and what the store confirmed is not sent.
//
// doubtFor is how long that is: as long as the broker swallows repeats and syncs at
// the latest.
const doubtFor = 2 * time.Minute

// trail is what a publisher sent, as far as it is in doubt.
type trail struct {
	sent  map[string]uint64 // journal -> highest seq acknowledged
	sure  map[string]uint64 // of it, what is not in doubt any more
	steps []step            // the way from sure to sent, oldest first
	again map[string]uint64 // journal -> seq from which on it is sent again
}

type step struct {
	at  time.Time
	id  string
	seq uint64
}

// before marks, in the file of what was sent, what of a journal was not in doubt. A
// program that knows nothing of it takes it for an unknown journal.
const before = " sure"

func newTrail(kept map[string]uint64) *trail {
	t := &trail{sent: map[string]uint64{}, sure: map[string]uint64{}, again: map[string]uint64{}}
	for id, seq := range kept {
		if _, of := kept[id+before]; of {
			t.sent[id], t.sure[id] = seq, min(kept[id+before], seq)
		} else if _, is := cutBefore(id); !is {
			t.sent[id], t.sure[id] = seq, seq
		}
	}
	t.rewind()
	return t
}

func cutBefore(id string) (string, bool) {
	n := len(id) - len(before)
	if n <= 0 || id[n:] != before {
		return id, false
	}
	return id[:n], true
}

// mark notes what was acknowledged.
func (t *trail) mark(id string, seq uint64, now time.Time) {
	if from, ok := t.again[id]; ok {
		if t.again[id] = max(from, seq+1); t.again[id] > t.sent[id] {
			delete(t.again, id)
		}
	}
	if seq > t.sent[id] {
		t.sent[id] = seq
		if last := len(t.steps) - 1; last >= 0 && t.steps[last].id == id && now.Sub(t.steps[last].at) < time.Second {
			t.steps[last].seq = seq
		} else {
			t.steps = append(t.steps, step{now, id, seq})
		}
	}
	for len(t.steps) > 0 && now.Sub(t.steps[0].at) > doubtFor {
		t.sure[t.steps[0].id] = t.steps[0].seq
		t.steps = t.steps[1:]
	}
}

// rewind has what is in doubt sent again.
func (t *trail) rewind() {
	for id, seq := range t.sent {
		if t.sure[id] < seq {
			t.again[id] = t.sure[id] + 1
		}
	}
}

// from is the seq of a journal that is to be sent next; the store has all below floor.
func (t *trail) from(id string, floor uint64) uint64 {
	next := t.sent[id] + 1
	if again, ok := t.again[id]; ok {
		if again = max(again, floor); again < next {
			return again
		}
		delete(t.again, id)
	}
	return next
}

// kept is what a later process is to know of the journals that there are.
func (t *trail) kept(journals []string) map[string]uint64 {
	out := map[string]uint64{}
	for _, id := range journals {
		if seq, ok := t.sent[id]; ok {
			out[id], out[id+before] = seq, t.sure[id]
		}
	}
	maps.DeleteFunc(t.sent, func(id string, _ uint64) bool { _, ok := out[id]; return !ok })
	return out
}

// round ends when the connection came back: the next one begins with what is
// in doubt. It returns the context of a round.
func (p *Publisher) round(ctx context.Context) (context.Context, context.CancelFunc) {
	round, cancel := context.WithCancel(ctx)
	lives := p.js.Conn().Stats().Reconnects
	if lives != p.lives {
		p.lives = lives
		p.mu.Lock()
		p.trail.rewind()
		p.mu.Unlock()
	}
	go func() {
		tick := time.NewTicker(200 * time.Millisecond)
		defer tick.Stop()
		for {
			select {
			case <-round.Done():
				return
			case <-tick.C:
				if p.js.Conn().Stats().Reconnects != lives {
					cancel()
					return
				}
			}
		}
	}()
	return round, cancel
}
