package hub

import (
	"context"
	"log/slog"
	"time"

	"github.com/nats-io/nats.go/jetstream"

	"fairlead/ingest/stream"
)

// nightLease lets one process of the studio ask the fleet's nightly questions.
type nightLease struct {
	js    jetstream.JetStream
	place stream.Place
	owner string
	log   *slog.Logger
}

// Hold implements answers.Lease.
func (n nightLease) Hold(ctx context.Context) (context.Context, func(), bool) {
	lease, err := stream.Acquire(ctx, n.js, n.place, n.owner)
	if err != nil {
		return ctx, nil, false
	}
	held, cancel := context.WithCancel(ctx)
	kept := make(chan struct{})
	go func() {
		defer close(kept)
		for {
			select {
			case <-held.Done():
				return
			case <-time.After(1500 * time.Millisecond):
			}
			if err := lease.Renew(held); err != nil && held.Err() == nil {
				n.log.Warn("the night's work is given up: its lease was lost", "error", err)
				cancel()
				return
			}
		}
	}()
	return held, func() {
		cancel()
		<-kept
		free, stop := context.WithTimeout(context.WithoutCancel(ctx), time.Second)
		defer stop()
		lease.Release(free)
	}, true
}
