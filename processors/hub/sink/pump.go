package sink

import (
	"context"
	"errors"
	"sync"
	"time"

	"github.com/nats-io/nats.go/jetstream"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/stream"
)

// A node that went away is noticed by its silence: two heartbeats. The usual ones
// come each quarter of a minute.
const (
	heartbeat = jetstream.PullHeartbeat(time.Second)
	expiry    = jetstream.PullExpiry(10 * time.Second)
)

// tap is how far a bay's entries came to us of those that its consumer gave.
type tap struct {
	mu    sync.Mutex
	last  jetstream.Msg
	waits time.Time // since when we wait for the next; zero: one is being taken
	owed  time.Time // since when the consumer is known to have given more than came; zero: it has not
}

func (t *tap) waiting() {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.waits = time.Now()
}

func (t *tap) came(m jetstream.Msg) {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.last, t.waits, t.owed = m, time.Time{}, time.Time{}
}

// patience is how long what was given may be on its way.
const patience = 1500 * time.Millisecond

var errUndelivered = errors.New("the broker gave entries that did not come: a node or a connection was lost on the way")

// lost says whether the consumer gave entries that can't come any more, counted by
// itself: it would give them again only after its long patience with us. What was given
// may be on its way when the consumer is asked, so it is asked twice, with patience
// between, and nothing may have come meanwhile.
func (t *tap) lost(given uint64, now time.Time) bool {
	t.mu.Lock()
	defer t.mu.Unlock()
	came := uint64(0)
	if t.last != nil {
		meta, err := t.last.Metadata()
		if err != nil {
			return false
		}
		came = meta.Sequence.Consumer
	}
	if t.waits.IsZero() || given <= came {
		t.owed = time.Time{}
		return false
	}
	if t.owed.IsZero() {
		t.owed = now
	}
	return now.Sub(t.owed) >= patience
}

// pump hands messages on until ctx ends. A break of the iterator is passed as
// its error; the caller starts over.
func pump(ctx context.Context, c jetstream.Consumer, place stream.Place, out *inbox, t *tap) error {
	it, err := c.Messages(jetstream.PullMaxMessages(2*maxBatch), heartbeat, expiry)
	if err != nil {
		return err
	}
	defer it.Stop()
	stop := context.AfterFunc(ctx, it.Stop)
	defer stop()
	read := event.NewReader()
	t.waiting()
	for {
		m, err := it.Next()
		if err != nil {
			if ctx.Err() != nil {
				return ctx.Err()
			}
			if errors.Is(err, jetstream.ErrNoHeartbeat) && !gone(ctx, c) {
				continue // the broker is away; the iterator goes on by itself
			}
			return err
		}
		t.came(m)
		if err := out.put(ctx, take(m, place, read)); err != nil {
			return err
		}
		t.waiting()
	}
}

// gone says whether the broker is there and does not know the consumer any
// more: a power cut may take it, and its stream, with it.
func gone(ctx context.Context, c jetstream.Consumer) bool {
	ctx, cancel := context.WithTimeout(ctx, time.Second)
	defer cancel()
	_, err := c.Info(ctx)
	return errors.Is(err, jetstream.ErrConsumerNotFound) || errors.Is(err, jetstream.ErrStreamNotFound)
}
