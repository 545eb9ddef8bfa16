package sink

import (
	"context"
	"errors"
	"fmt"
	"strings"
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
	prefix := "tag-" + place.Studio + "-" + place.Bay + "-x"
	var floor uint64
	var old []string
	list := s.ListConsumers(ctx)
	for info := range list.Info() {
		if strings.HasPrefix(info.Name, prefix) && info.Config.FilterSubject == place.ShotsSubject() {
			floor = max(floor, info.AckFloor.Stream)
			old = append(old, info.Name)
		}
	}
	if err := list.Err(); err != nil {
		return nil, fmt.Errorf("consume %s: %w", place, err)
	}
	config := jetstream.ConsumerConfig{
		Durable: prefix + event.NewID(time.Now()), FilterSubject: place.ShotsSubject(), Description: "owner " + owner,
		AckPolicy: jetstream.AckAllPolicy, AckWait: 30 * time.Minute, MaxAckPending: 2 * maxQueued, MaxDeliver: -1,
	}
	if floor > 0 && floor <= s.CachedInfo().State.LastSeq {
		config.DeliverPolicy, config.OptStartSeq = jetstream.DeliverByStartSequencePolicy, floor+1
	}
	c, err := s.CreateConsumer(ctx, config)
	if err != nil {
		return nil, fmt.Errorf("consume %s: %w", place, err)
	}
	for _, name := range old {
		if err := s.DeleteConsumer(ctx, name); err != nil && !errors.Is(err, jetstream.ErrConsumerNotFound) {
			return nil, fmt.Errorf("consume %s: %w", place, err)
		}
	}
	return c, nil
}

// pump hands messages on until ctx ends. A break of the iterator is passed as
// its error; the caller starts over.
func pump(ctx context.Context, c jetstream.Consumer, place stream.Place, out *inbox) error {
	it, err := c.Messages(jetstream.PullMaxMessages(2*maxBatch), jetstream.PullHeartbeat(time.Second), jetstream.PullExpiry(10*time.Second))
	if err != nil {
		return err
	}
	defer it.Stop()
	stop := context.AfterFunc(ctx, it.Stop)
	defer stop()
	read := event.NewReader()
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
		if err := out.put(ctx, take(m, place, read)); err != nil {
			return err
		}
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
	it, err := c.Messages()
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
