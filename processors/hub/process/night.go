package process

import (
	"context"

	"github.com/nats-io/nats.go/jetstream"

	"fairlead/ingest/log/stream"
)

// nightLease lets one process of the studio ask the fleet's nightly questions.
type nightLease struct {
	js    jetstream.JetStream
	place stream.Place
	owner string
}

// Hold implements answers.Lease.
func (n nightLease) Hold(ctx context.Context) (context.Context, func(), bool) {
	lease, err := stream.Acquire(ctx, n.js, n.place, n.owner)
	if err != nil {
		return ctx, nil, false
	}
	held, release := lease.Keep(ctx)
	return held, release, true
}
