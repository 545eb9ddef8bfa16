package sim

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"sync"
	"time"

	"fairlead/ingest/contract/event"
)

// outbox hands events to the console in their order without making the player
// wait for it: a console that is away gets them later, with the time of the tap.
type outbox struct {
	hand   Hand
	log    *slog.Logger
	direct bool // virtual time: at once, in the caller's goroutine
	cancel context.CancelFunc
	grace  time.Duration
	done   chan struct{}

	mu            sync.Mutex
	more          *sync.Cond
	queue         []*event.VisitEvent
	ended         bool
	kept, refused int
	err           error
}

func newOutbox(ctx context.Context, o *Options, bay string, clock Clock) *outbox {
	_, real := clock.(WallClock)
	x := &outbox{hand: o.Hand, log: o.Log.With("bay", bay), direct: !real, grace: o.Grace, done: make(chan struct{})}
	x.more = sync.NewCond(&x.mu)
	// The end of ctx ends the hitting; what was tapped before still goes out.
	ctx, x.cancel = context.WithCancel(context.WithoutCancel(ctx))
	if x.direct {
		close(x.done)
	} else {
		go x.run(ctx)
	}
	return x
}

func (x *outbox) send(ctx context.Context, ev *event.VisitEvent) {
	if x.direct {
		x.do(context.WithoutCancel(ctx), ev)
		return
	}
	x.mu.Lock()
	defer x.mu.Unlock()
	x.queue = append(x.queue, ev)
	x.more.Signal()
}

func (x *outbox) run(ctx context.Context) {
	defer close(x.done)
	for {
		x.mu.Lock()
		for len(x.queue) == 0 && !x.ended {
			x.more.Wait()
		}
		if len(x.queue) == 0 {
			x.mu.Unlock()
			return
		}
		ev := x.queue[0]
		x.queue = x.queue[1:]
		x.mu.Unlock()
		x.do(ctx, ev)
	}
}

func (x *outbox) do(ctx context.Context, ev *event.VisitEvent) {
	_, err := x.hand.Do(ctx, ev)
	x.mu.Lock()
	defer x.mu.Unlock()
	if err == nil {
		x.kept++
		return
	}
	x.refused++
	var refused *RefusedError
	if errors.As(err, &refused) {
		x.log.Warn("console refused an event", "kind", event.KindOf(ev), "id", ev.Id, "err", err)
	} else if x.err == nil {
		x.err = fmt.Errorf("bay %s: event %s (%s): %w", ev.Bay, ev.Id, event.KindOf(ev), err)
	}
}

// close waits until everything is out, at most the grace.
func (x *outbox) close() (kept, refused int, err error) {
	x.mu.Lock()
	x.ended = true
	x.more.Signal()
	x.mu.Unlock()
	timer := time.AfterFunc(x.grace, x.cancel)
	<-x.done
	timer.Stop()
	x.cancel()
	return x.kept, x.refused, x.err
}
