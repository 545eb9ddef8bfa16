package stream

import (
	"context"
	"errors"
	"fmt"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"
)

// Message is one message for the log. ID lets the broker swallow a repeat
// within its window; a repair needs a fresh one, because the broker also
// swallows a repeat of a message that it has lost.
type Message struct {
	Subject string
	ID      string
	Data    []byte
}

// Publish sends a batch and waits for every acknowledgement. It returns how
// many messages from the front are safely in the log; fewer than all come with
// an error. A batch should stay below a few hundred messages.
func Publish(ctx context.Context, js jetstream.JetStream, batch []Message) (done int, err error) {
	return Send(js, batch).Wait(ctx)
}

// Sent is a batch on its way.
type Sent struct {
	acks []jetstream.PubAckFuture
	all  int
	err  error // why the rest was not sent
}

// Send sends a batch without waiting; Wait says what became of it.
func Send(js jetstream.JetStream, batch []Message) *Sent {
	s := &Sent{acks: make([]jetstream.PubAckFuture, 0, len(batch)), all: len(batch)}
	for _, m := range batch {
		msg := &nats.Msg{Subject: m.Subject, Data: m.Data}
		if m.ID != "" {
			msg.Header = nats.Header{jetstream.MsgIDHeader: {m.ID}}
		}
		ack, err := js.PublishMsgAsync(msg)
		if err != nil {
			s.err = fmt.Errorf("publish: %w", err)
			break
		}
		s.acks = append(s.acks, ack)
	}
	return s
}

// Wait waits for the acknowledgements, as Publish does.
func (s *Sent) Wait(ctx context.Context) (done int, err error) {
	for _, ack := range s.acks {
		select {
		case <-ack.Ok():
			done++
		case ackErr := <-ack.Err():
			return done, fmt.Errorf("publish to %s: %w", ack.Msg().Subject, ackErr)
		case <-ctx.Done():
			return done, errors.Join(fmt.Errorf("publish: %d of %d acknowledged", done, s.all), ctx.Err())
		}
	}
	return done, s.err
}
