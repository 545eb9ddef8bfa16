package sink

import (
	"context"
	"encoding/json"
	"log/slog"
	"sync"
	"sync/atomic"
	"time"

	"github.com/nats-io/nats.go"

	"fairlead/ingest/log/stream"
	"fairlead/processors/visit/rolling"
)

// liveEvery bounds how often a bay's state is computed and sent.
const liveEvery = 8 * time.Millisecond

// refinedEvery bounds how often statements that were worked out since are sent.
const refinedEvery = 200 * time.Millisecond

// live sends a bay's state as it changes: the latest, never a backlog of older
// ones. Shots and their means go out at once; statements that take longer to
// work out follow when nothing new waits. It also answers who asks for it.
type live struct {
	nc    *nats.Conn
	place stream.Place
	log   *slog.Logger

	mu   sync.Mutex
	last []byte

	builder *rolling.Builder
	shots   atomic.Int64 // of the session that is shown
	wake    chan rolling.Snapshot
}

// StateSubject is answered with a bay's latest state.
func StateSubject(p stream.Place) string { return p.StateSubject() }

func newLive(nc *nats.Conn, place stream.Place, log *slog.Logger) *live {
	return &live{nc: nc, place: place, log: log, builder: rolling.NewBuilder(), wake: make(chan rolling.Snapshot, 1)}
}

// offer replaces the snapshot that waits to be sent.
func (l *live) offer(take func() rolling.Snapshot) {
	select {
	case <-l.wake:
	default:
	}
	l.wake <- take()
}

// run computes and sends until ctx ends.
func (l *live) run(ctx context.Context) {
	sub, err := l.nc.Subscribe(StateSubject(l.place), func(m *nats.Msg) {
		l.mu.Lock()
		defer l.mu.Unlock()
		if l.last != nil && stream.AnswerTo(m.Reply, stream.Place{}) {
			m.Respond(l.last)
		}
	})
	if err != nil {
		l.log.Error("the bay's state can't be asked for", "error", err)
	} else {
		defer sub.Unsubscribe()
	}
	refine, refined := make(chan struct{}, 1), make(chan struct{}, 1)
	var refining sync.WaitGroup
	refining.Go(func() { l.refine(ctx, refine, refined) })
	defer refining.Wait()
	var shown rolling.Snapshot
	for {
		select {
		case <-ctx.Done():
			return
		case shown = <-l.wake:
			signal(refine)
		case <-refined:
			select { // a newer snapshot shows what was worked out, too
			case shown = <-l.wake:
				signal(refine)
			default:
			}
		}
		begun := time.Now()
		l.shots.Store(int64(len(shown.Shots)))
		l.send(shown)
		select {
		case <-ctx.Done():
			return
		case <-time.After(max(liveEvery, breath(time.Since(begun), len(shown.Shots)))):
		}
	}
}

// refine works out what the last state left open, beside the states that go
// out meanwhile, and says now and then that there is more to show.
func (l *live) refine(ctx context.Context, wanted <-chan struct{}, done chan<- struct{}) {
	for {
		select {
		case <-ctx.Done():
			return
		case <-wanted:
		}
		told := time.Now()
		for more := true; more && ctx.Err() == nil; {
			begun := time.Now()
			more = l.builder.Refine()
			select {
			case <-ctx.Done():
				return
			case <-time.After(breath(time.Since(begun), int(l.shots.Load()))):
			}
			if !more || time.Since(told) > refinedEvery {
				told = time.Now()
				signal(done)
			}
		}
	}
}

// signal leaves one wish in the channel, however often it is called.
func signal(c chan<- struct{}) {
	select {
	case c <- struct{}{}:
	default:
	}
}

func (l *live) send(s rolling.Snapshot) {
	data, err := json.Marshal(l.builder.Build(s))
	if err != nil {
		l.log.Error("the bay's state can't be written", "error", err)
		return
	}
	l.mu.Lock()
	l.last = data
	l.mu.Unlock()
	if err := l.nc.Publish(l.place.LiveSubject("state"), data); err != nil {
		l.log.Debug("the bay's state was not sent", "error", err)
	}
}
