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

// Head is what a message of the log says of the record it carries, beside it.
type Head struct {
	Journal string
	Seq     uint64 // in its journal
	Sum     uint32 // CRC-32 of the journal's bytes of it
	Message uint64 // its number in the stream
}

// InLog collects which entries a stream of the log holds under a subject, by
// journal, from the message ids alone. A stream that is not there holds nothing.
func InLog(ctx context.Context, js jetstream.JetStream, stream, subject string) (map[string]Ranges, error) {
	out := map[string]Ranges{}
	err := Heads(ctx, js, stream, subject, func(h Head) {
		r := out[h.Journal]
		r.Add(h.Seq, h.Seq)
		out[h.Journal] = r
	})
	return out, err
}

// Heads gives the head of every message that a stream holds under a subject now.
func Heads(ctx context.Context, js jetstream.JetStream, stream, subject string, each func(Head)) error {
	// A broker that starts anew loses a request on its way: its answer is not waited for as long as the log is read.
	asking, answered := context.WithTimeout(ctx, silence)
	defer answered()
	s, err := js.Stream(asking, stream)
	if errors.Is(err, jetstream.ErrStreamNotFound) {
		return nil
	}
	if err != nil {
		return fmt.Errorf("read the log: %w", err)
	}
	last, err := s.GetLastMsgForSubject(asking, subject)
	if errors.Is(err, jetstream.ErrMsgNotFound) {
		return nil
	}
	if err != nil {
		return fmt.Errorf("read the log: %w", err)
	}
	c, err := s.OrderedConsumer(asking, jetstream.OrderedConsumerConfig{FilterSubjects: []string{subject}, HeadersOnly: true})
	if err != nil {
		return fmt.Errorf("read the log: %w", err)
	}
	it, err := c.Messages()
	if err != nil {
		return fmt.Errorf("read the log: %w", err)
	}
	defer it.Stop()
	stop := context.AfterFunc(ctx, it.Stop)
	defer stop()
	for {
		m, err := it.Next(jetstream.NextMaxWait(silence))
		if err != nil {
			return errors.Join(fmt.Errorf("read the log: %w", err), ctx.Err())
		}
		meta, err := m.Metadata()
		if err != nil {
			return fmt.Errorf("read the log: %w", err)
		}
		if h, ok := parseID(m.Headers().Get(jetstream.MsgIDHeader)); ok {
			h.Message = meta.Sequence.Stream
			each(h)
		}
		if meta.Sequence.Stream >= last.Sequence {
			return nil
		}
	}
}

// parseID reads the message ids of relay, journal-seq-sum and a nonce.
func parseID(id string) (h Head, ok bool) {
	parts := strings.SplitN(id, "-", 4)
	if len(parts) < 2 {
		return h, false
	}
	seq, err := strconv.ParseUint(parts[1], 10, 64)
	if len(parts) > 2 {
		sum, _ := strconv.ParseUint(parts[2], 16, 32)
		h.Sum = uint32(sum)
	}
	h.Journal, h.Seq = parts[0], seq
	return h, err == nil
}
