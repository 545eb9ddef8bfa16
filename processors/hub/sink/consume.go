package sink

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/nats-io/nats.go/jetstream"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/stream"
)

// consumerOf makes a fresh consumer of a bay's entries that begins after the
// last one that any owner acknowledged, and removes the others. A fresh one,
// because an old consumer holds back what its dead owner had taken until it
// times out; the new one exists before the old ones go, so that a crash in
// between forgets nothing.
func consumerOf(ctx context.Context, js jetstream.JetStream, place stream.Place, owner string) (jetstream.Consumer, error) {
	s, err := js.Stream(ctx, stream.Shots)
	if err != nil {
		return nil, fmt.Errorf("consume %s: %w", place, err)
	}
	floor, old, err := predecessors(ctx, s, place)
	if err != nil {
		return nil, fmt.Errorf("consume %s: %w", place, err)
	}
	config := jetstream.ConsumerConfig{
		FilterSubject: place.ShotsSubject(), Description: "owner " + owner,
		AckPolicy: jetstream.AckAllPolicy, AckWait: 30 * time.Minute, MaxAckPending: 2 * maxQueued, MaxDeliver: -1,
	}
	if floor > 0 && floor <= s.CachedInfo().State.LastSeq {
		config.DeliverPolicy, config.OptStartSeq = jetstream.DeliverByStartSequencePolicy, floor+1
	}
	config.Durable = consumerName(place, config.OptStartSeq, time.Now())
	c, err := s.CreateConsumer(ctx, config)
	if err != nil {
		return nil, fmt.Errorf("consume %s: make one: %w", place, err)
	}
	for _, name := range old {
		switch err := s.DeleteConsumer(ctx, name); {
		case err == nil, errors.Is(err, jetstream.ErrConsumerNotFound):
		case stream.Unanswered(err): // it is nobody's now, and goes at the next takeover
		default:
			return nil, fmt.Errorf("consume %s: %w", place, err)
		}
	}
	return c, nil
}

// eventsOf reads a bay's visit events from the log up to its present end, and
// returns a channel with those that follow. It ends with ctx. aside hears of
// messages that are no event of the bay.
func eventsOf(ctx context.Context, js jetstream.JetStream, place stream.Place,
	aside func(why string, m jetstream.Msg)) (past []*event.VisitEvent, next <-chan *event.VisitEvent, err error) {
	s, err := js.Stream(ctx, stream.Visits)
	if err != nil {
		return nil, nil, fmt.Errorf("visit events of %s: %w", place, err)
	}
	var last uint64
	m, err := s.GetLastMsgForSubject(ctx, place.VisitsSubject())
	switch {
	case errors.Is(err, jetstream.ErrMsgNotFound):
	case err != nil:
		return nil, nil, fmt.Errorf("visit events of %s: %w", place, err)
	default:
		last = m.Sequence
	}
	c, err := s.OrderedConsumer(ctx, jetstream.OrderedConsumerConfig{FilterSubjects: []string{place.VisitsSubject()}})
	if err != nil {
		return nil, nil, fmt.Errorf("visit events of %s: %w", place, err)
	}
	it, err := c.Messages(jetstream.PullHeartbeat(2*time.Second), expiry)
	if err != nil {
		return nil, nil, fmt.Errorf("visit events of %s: %w", place, err)
	}
	stop := context.AfterFunc(ctx, it.Stop)
	read := func() (*event.VisitEvent, uint64, error) {
		for {
			m, err := it.Next()
			if err != nil {
				if errors.Is(err, jetstream.ErrNoHeartbeat) && ctx.Err() == nil {
					continue
				}
				return nil, 0, err
			}
			meta, err := m.Metadata()
			if err != nil {
				return nil, 0, err
			}
			ev, why := readEvent(m.Data(), place)
			if why != "" {
				aside(why, m)
			}
			return ev, meta.Sequence.Stream, nil
		}
	}
	for at := uint64(0); at < last; {
		ev, seq, err := read()
		if err != nil {
			stop()
			it.Stop()
			return nil, nil, fmt.Errorf("visit events of %s: %w", place, err)
		}
		at = seq
		if ev != nil {
			past = append(past, ev)
		}
	}
	out := make(chan *event.VisitEvent, 64)
	go func() {
		defer close(out)
		defer stop()
		defer it.Stop()
		for {
			ev, _, err := read()
			if err != nil {
				return
			}
			if ev == nil {
				continue
			}
			select {
			case out <- ev:
			case <-ctx.Done():
				return
			}
		}
	}()
	return past, out, nil
}
