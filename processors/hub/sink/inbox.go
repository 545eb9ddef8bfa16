package sink

import (
	"context"
	"sync"
	"time"
)

// inbox holds what was read of the log until the worker takes it. The worker
// is woken for the first line that comes, and takes all that are there at
// once: to hand over every line by itself costs more than to tag it.
type inbox struct {
	ready chan struct{} // there may be something to take
	room  chan struct{} // there may be room again

	mu    sync.Mutex
	lines []taken
}

func newInbox() *inbox {
	return &inbox{ready: make(chan struct{}, 1), room: make(chan struct{}, 1)}
}

// put waits for room, which is for one round of tagging.
func (b *inbox) put(ctx context.Context, t taken) error {
	for {
		b.mu.Lock()
		if len(b.lines) < maxBatch {
			b.lines = append(b.lines, t)
			first := len(b.lines) == 1
			b.mu.Unlock()
			if first {
				signal(b.ready)
			}
			return nil
		}
		b.mu.Unlock()
		select {
		case <-b.room:
		case <-ctx.Done():
			return ctx.Err()
		}
	}
}

// take adds what is there to batch, up to a full round. After it the inbox is
// empty or the round is full. The batch given belongs to the inbox then.
func (b *inbox) take(batch []taken) []taken {
	b.mu.Lock()
	defer b.mu.Unlock()
	n := min(len(b.lines), maxBatch-len(batch))
	if n == 0 {
		return batch
	}
	if len(batch) == 0 { // all of them; the batch's memory is for those to come
		batch, b.lines = b.lines, batch
	} else {
		batch = append(batch, b.lines[:n]...)
		rest := copy(b.lines, b.lines[n:])
		clear(b.lines[rest:])
		b.lines = b.lines[:rest]
	}
	if len(b.lines) > 0 {
		signal(b.ready)
	}
	signal(b.room)
	return batch
}

// gather makes a round of what has arrived. While the log says that more is on
// its way it waits a little for that: a backlog is tagged in large rounds, which
// costs a fraction of small ones, and a single shot is not held up.
func (b *inbox) gather(batch []taken) []taken {
	const step, steps = time.Millisecond, 5
	batch = b.take(batch)
	for idle := 0; len(batch) > 0 && len(batch) < maxBatch && idle < steps; {
		meta, err := batch[len(batch)-1].msg.Metadata()
		if err != nil || meta.NumPending == 0 {
			break
		}
		time.Sleep(step)
		before := len(batch)
		if batch = b.take(batch); len(batch) == before {
			idle++
		} else {
			idle = 0
		}
	}
	return batch
}
