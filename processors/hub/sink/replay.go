package sink

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"time"

	"github.com/nats-io/nats.go/jetstream"
	"github.com/prometheus/client_golang/prometheus"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/stream"
	"fairlead/processors/hub/store"
)

// Replay rebuilds in a store what the log holds of a bay, as a worker that
// never saw it would. It returns the number of entries read.
func Replay(ctx context.Context, js jetstream.JetStream, to *store.Store, place stream.Place, log *slog.Logger) (n int, err error) {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	m, err := NewMetrics(prometheus.NewRegistry())
	if err != nil {
		return 0, err
	}
	events, _, err := eventsOf(ctx, js, place, func(why string, msg jetstream.Msg) { m.setAside(log, why, msg.Subject()) })
	if err != nil {
		return 0, err
	}
	w, err := newWorker(ctx, place, place.Bay, to, events, log, m, nil)
	if err != nil {
		return 0, err
	}
	s, err := js.Stream(ctx, stream.Shots)
	if err != nil {
		return 0, fmt.Errorf("replay %s: %w", place, err)
	}
	last, err := s.GetLastMsgForSubject(ctx, place.ShotsSubject())
	if errors.Is(err, jetstream.ErrMsgNotFound) {
		return 0, w.flush(ctx)
	}
	if err != nil {
		return 0, fmt.Errorf("replay %s: %w", place, err)
	}
	c, err := s.OrderedConsumer(ctx, jetstream.OrderedConsumerConfig{FilterSubjects: []string{place.ShotsSubject()}})
	if err != nil {
		return 0, fmt.Errorf("replay %s: %w", place, err)
	}
	it, err := c.Messages()
	if err != nil {
		return 0, fmt.Errorf("replay %s: %w", place, err)
	}
	defer it.Stop()
	stop := context.AfterFunc(ctx, it.Stop)
	defer stop()
	read := event.NewReader()
	var batch []taken
	for done := false; !done; {
		msg, err := it.Next()
		if err != nil {
			return n, errors.Join(fmt.Errorf("replay %s: %w", place, err), ctx.Err())
		}
		meta, err := msg.Metadata()
		if err != nil {
			return n, fmt.Errorf("replay %s: %w", place, err)
		}
		batch = append(batch, take(msg, place, read))
		done = meta.Sequence.Stream >= last.Sequence
		if len(batch) == maxBatch || done {
			if err := w.takeShots(ctx, batch); err != nil {
				return n, err
			}
			n += len(batch)
			batch = nil
			if err := w.flush(ctx); err != nil {
				return n, err
			}
			if w.full() {
				w.forget(w.now())
			}
		}
	}
	return n, nil
}

// flush gives all that waits to the store.
func (w *Worker) flush(ctx context.Context) error {
	for len(w.queue) > 0 {
		job := w.next()
		job.ack = nil
		for {
			err := w.out.flush(ctx, []*order{{write: job, place: w.place, done: make(chan error, 1)}})
			if err == nil {
				w.stored(job.cards)
				break
			}
			select {
			case <-ctx.Done():
				return ctx.Err()
			case <-time.After(time.Second):
			}
		}
	}
	return nil
}
