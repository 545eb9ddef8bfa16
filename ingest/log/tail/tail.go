// Package tail follows the log and writes its messages as JSON lines, for people
// and programs that look on.
package tail

import (
	"context"
	"encoding/json"
	"fmt"
	"io"

	"github.com/nats-io/nats.go/jetstream"
	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/proto"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/stream"
)

// Following says what is followed.
type Following struct {
	Shots, Visits string // subjects of the two streams
	All           bool   // begin with what the log holds already
	Limit         int    // end after this many lines; 0: never
}

// Follow writes entries and visit events as they come, until ctx ends or the
// limit is reached. The streams are two: lines of one bay may pass each other.
func Follow(ctx context.Context, js jetstream.JetStream, w io.Writer, f Following) error {
	lines := make(chan []byte)
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	policy := jetstream.DeliverNewPolicy
	if f.All {
		policy = jetstream.DeliverAllPolicy
	}
	for name, subject := range map[string]string{stream.Shots: f.Shots, stream.Visits: f.Visits} {
		consumer, err := js.OrderedConsumer(ctx, name, jetstream.OrderedConsumerConfig{FilterSubjects: []string{subject}, DeliverPolicy: policy})
		if err != nil {
			return fmt.Errorf("read %s: %w", name, err)
		}
		follow, err := consumer.Consume(func(m jetstream.Msg) {
			select {
			case lines <- decode(name, m):
			case <-ctx.Done():
			}
		})
		if err != nil {
			return fmt.Errorf("read %s: %w", name, err)
		}
		defer follow.Stop()
	}
	return copyLines(ctx, w, lines, f.Limit)
}

func copyLines(ctx context.Context, w io.Writer, lines <-chan []byte, limit int) error {
	for n := 0; limit == 0 || n < limit; n++ {
		select {
		case <-ctx.Done():
			return nil
		case line := <-lines:
			if _, err := fmt.Fprintf(w, "%s\n", line); err != nil {
				return err
			}
		}
	}
	return nil
}

// decode writes a message as one line: {"entry": …} or {"visit_event": …}, and
// what can't be read as {"unreadable": …}.
func decode(name string, m jetstream.Msg) []byte {
	var what proto.Message = &event.Entry{}
	key := "entry"
	if name == stream.Visits {
		what, key = &event.VisitEvent{}, "visit_event"
	}
	fields := map[string]any{"subject": m.Subject()}
	if err := proto.Unmarshal(m.Data(), what); err != nil {
		fields["unreadable"] = err.Error()
	} else if text, err := (protojson.MarshalOptions{UseProtoNames: true}).Marshal(what); err != nil {
		fields["unreadable"] = err.Error()
	} else {
		fields[key] = json.RawMessage(text)
		if e, ok := what.(*event.Entry); ok {
			fields["shot_id"] = e.ID().String()
			fields["line"] = string(e.Raw)
		} else {
			fields["kind"] = event.KindOf(what.(*event.VisitEvent))
		}
	}
	line, err := json.Marshal(fields)
	if err != nil {
		return []byte(`{"unreadable":"not JSON"}`)
	}
	return line
}
