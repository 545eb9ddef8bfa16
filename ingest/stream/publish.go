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
	acks := make([]jetstream.PubAckFuture, 0, len(batch))
	for _, m := range batch {
		msg := &nats.Msg{Subject: m.Subject, Data: m.Data}
		if m.ID != "" {
			msg.Header = nats.Header{jetstream.MsgIDHeader: {m.ID}}
		}
		ack, sendErr := js.PublishMsgAsync(msg)
		if sendErr != nil {
			err = sendErr
			break
		}
		acks = append(acks, ack)
	}
	for _, ack := range acks {
		select {
		case <-ack.Ok():
			done++
		case ackErr := <-ack.Err():
			return done, fmt.Errorf("publish to %s: %w", ack.Msg().Subject, ackErr)
		case <-ctx.Done():
			return done, errors.Join(fmt.Errorf("publish: %d of %d acknowledged", done, len(batch)), ctx.Err())
		}
	}
	if err != nil {
		return done, fmt.Errorf("publish: %w", err)
	}
	return done, nil
}
