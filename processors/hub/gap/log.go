package gap

import (
	"context"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"

	"github.com/nats-io/nats.go/jetstream"
)

// silence is how long the log may say nothing while it is read. A broker that
// starts anew in the middle may have lost the message that was the last one.
const silence = 10 * time.Second

// InLog collects which entries a stream of the log holds under a subject, by
// journal, from the message ids alone. A stream that is not there holds nothing.
func InLog(ctx context.Context, js jetstream.JetStream, stream, subject string) (map[string]Ranges, error) {
	out := map[string]Ranges{}
	s, err := js.Stream(ctx, stream)
	if errors.Is(err, jetstream.ErrStreamNotFound) {
		return out, nil
	}
	if err != nil {
		return nil, fmt.Errorf("read the log: %w", err)
	}
	last, err := s.GetLastMsgForSubject(ctx, subject)
	if errors.Is(err, jetstream.ErrMsgNotFound) {
		return out, nil
	}
	if err != nil {
		return nil, fmt.Errorf("read the log: %w", err)
	}
	c, err := s.OrderedConsumer(ctx, jetstream.OrderedConsumerConfig{FilterSubjects: []string{subject}, HeadersOnly: true})
	if err != nil {
		return nil, fmt.Errorf("read the log: %w", err)
	}
	it, err := c.Messages()
	if err != nil {
		return nil, fmt.Errorf("read the log: %w", err)
	}
	defer it.Stop()
	stop := context.AfterFunc(ctx, it.Stop)
	defer stop()
	for {
		m, err := it.Next(jetstream.NextMaxWait(silence))
		if err != nil {
			return nil, errors.Join(fmt.Errorf("read the log: %w", err), ctx.Err())
		}
		if journal, seq, ok := parseID(m.Headers().Get(jetstream.MsgIDHeader)); ok {
			r := out[journal]
			r.Add(seq, seq)
			out[journal] = r
		}
		meta, err := m.Metadata()
		if err != nil {
			return nil, fmt.Errorf("read the log: %w", err)
		}
		if meta.Sequence.Stream >= last.Sequence {
			return out, nil
		}
	}
}

// parseID reads the message ids of relay, which begin with journal-seq.
func parseID(id string) (journal string, seq uint64, ok bool) {
	parts := strings.SplitN(id, "-", 3)
	if len(parts) < 2 {
		return "", 0, false
	}
	seq, err := strconv.ParseUint(parts[1], 10, 64)
	return parts[0], seq, err == nil
}
