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

// wire is the message as the broker's client takes it.
func (m Message) wire() *nats.Msg {
	msg := &nats.Msg{Subject: m.Subject, Data: m.Data}
	if m.ID != "" {
		msg.Header = nats.Header{jetstream.MsgIDHeader: {m.ID}}
	}
	return msg
}

// Publish sends a batch and waits for every acknowledgement. It returns how
// many messages from the front are safely in the log; fewer than all come with
// an error. A batch should stay below a few hundred messages.
func Publish(ctx context.Context, js jetstream.JetStream, batch []Message) (done int, err error) {
	return Send(js, batch).Wait(ctx)
}

// ackEvery is how many messages one acknowledgement stands for. A stream takes a
// connection's messages in their order, so one that is acknowledged says that
// those before it were taken too, or refused for a reason of their own, which the
// gap watch finds. Between accounts an acknowledgement costs the broker more than
// the message does: one each would halve what a bay can send. A cluster may choose
// another leader between two messages, so there each is asked for.
const ackEvery = 16

// Sent is a batch on its way.
type Sent struct {
	acks []acknowledged
	all  int
	err  error // why the rest was not sent
}

// acknowledged is a message that waits for its acknowledgement, and how many of
// the batch are in the log with it.
type acknowledged struct {
	jetstream.PubAckFuture
	upTo int
}

// Send sends a batch without waiting; Wait says what became of it.
func Send(js jetstream.JetStream, batch []Message) *Sent {
	s := &Sent{acks: make([]acknowledged, 0, len(batch)/ackEvery+1), all: len(batch)}
	every := ackEvery
	if len(js.Conn().Servers()) > 1 {
		every = 1
	}
	for i, m := range batch {
		msg := m.wire()
		if (i+1)%every != 0 && i+1 < len(batch) && batch[i+1].Subject == m.Subject {
			if err := js.Conn().PublishMsg(msg); err != nil {
				s.err = fmt.Errorf("publish: %w", err)
				break
			}
			continue
		}
		ack, err := js.PublishMsgAsync(msg)
		if err != nil {
			s.err = fmt.Errorf("publish: %w", err)
			break
		}
		s.acks = append(s.acks, acknowledged{ack, i + 1})
	}
	return s
}

// Wait waits for the acknowledgements, as Publish does.
func (s *Sent) Wait(ctx context.Context) (done int, err error) {
	for _, ack := range s.acks {
		select {
		case <-ack.Ok():
			done = ack.upTo
		case ackErr := <-ack.Err():
			return done, fmt.Errorf("publish to %s: %w", ack.Msg().Subject, ackErr)
		case <-ctx.Done():
			return done, errors.Join(fmt.Errorf("publish: %d of %d acknowledged", done, s.all), ctx.Err())
		}
	}
	return done, s.err
}
