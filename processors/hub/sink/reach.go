package sink

import (
	"context"
	"errors"
	"math"
	"strings"

	"github.com/nats-io/nats.go/jetstream"

	"fairlead/ingest/log/stream"
)

// Reach tells how far what the log holds of a bay was stored, whichever process
// tags it: the consumer is acknowledged what the store has.
type Reach struct{ JS jetstream.JetStream }

// End implements gap.Reach.
func (r Reach) End(ctx context.Context, place stream.Place) (uint64, error) {
	ctx, cancel := context.WithTimeout(ctx, askConsumer)
	defer cancel()
	s, err := r.JS.Stream(ctx, stream.Shots)
	if err != nil {
		return 0, err
	}
	m, err := s.GetLastMsgForSubject(ctx, place.ShotsSubject())
	if errors.Is(err, jetstream.ErrMsgNotFound) {
		return 0, nil
	}
	if err != nil {
		return 0, err
	}
	return m.Sequence, nil
}

// Stored implements gap.Reach.
func (r Reach) Stored(ctx context.Context, place stream.Place) (upTo uint64, err error) {
	ctx, cancel := context.WithTimeout(ctx, 2*askConsumer)
	defer cancel()
	s, err := r.JS.Stream(ctx, stream.Shots)
	if err != nil {
		return 0, err
	}
	names := s.ConsumerNames(ctx)
	for name := range names.Name() {
		if !strings.HasPrefix(name, consumerPrefix(place)) {
			continue
		}
		c, err := s.Consumer(ctx, name)
		if err != nil {
			continue // it was taken over just now, or its node is away
		}
		info := c.CachedInfo()
		if upTo = max(upTo, info.AckFloor.Stream); info.NumPending == 0 && info.NumAckPending == 0 {
			upTo = math.MaxUint64
		}
	}
	return upTo, names.Err()
}
