package sink

import (
	"context"
	"encoding/json"
	"log/slog"
	"sync"
	"time"

	"github.com/nats-io/nats.go"

	"fairlead/ingest/stream"
	"fairlead/processors/rolling"
)

// liveEvery bounds how often a bay's state is computed and sent.
const liveEvery = 8 * time.Millisecond

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
	wake    chan rolling.Snapshot
}

// StateSubject is answered with a bay's latest state.
func StateSubject(p stream.Place) string { return "hub.state." + p.String() }

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
		if l.last != nil {
			m.Respond(l.last)
		}
	})
	if err != nil {
		l.log.Error("the bay's state can't be asked for", "error", err)
	} else {
		defer sub.Unsubscribe()
	}
	var shown rolling.Snapshot
	for unfinished := false; ; {
		if unfinished {
			select {
			case <-ctx.Done():
				return
			case shown = <-l.wake:
			default: // nothing new: work out what the last state left open
				unfinished = l.builder.Refine()
			}
		} else {
			select {
			case <-ctx.Done():
				return
			case shown = <-l.wake:
			}
			unfinished = true
		}
		l.send(shown)
		select {
		case <-ctx.Done():
			return
		case <-time.After(liveEvery):
		}
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
