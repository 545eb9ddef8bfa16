package stream

import (
	"context"
	"encoding/json"
	"fmt"
	"strconv"
	"strings"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"
)

// scanBatch is how many messages one request of a scan asks for.
const scanBatch = 500

// get is a request to JetStream for stored messages, as its interface has it.
type get struct {
	Seq       uint64     `json:"seq,omitempty"`
	StartTime *time.Time `json:"start_time,omitempty"`
	Batch     int        `json:"batch"`
	Subject   string     `json:"next_by_subj"`
}

// Scan gives each stored message of a stream under a subject to take, oldest
// first, from a time on until its present end. It makes no consumer, which could
// have the log send what is stored to anybody: whoever may only read reads so.
func Scan(ctx context.Context, js jetstream.JetStream, stream, subject string, since time.Time, take func(*nats.Msg) error) error {
	nc, call := js.Conn(), strings.TrimSuffix(js.Options().APIPrefix, ".")+".DIRECT.GET."+stream
	inbox := nc.NewRespInbox()
	sub, err := nc.SubscribeSync(inbox)
	if err != nil {
		return fmt.Errorf("read %s: %w", stream, err)
	}
	defer sub.Unsubscribe()
	next := get{StartTime: &since, Batch: scanBatch, Subject: subject}
	for {
		request, err := json.Marshal(next)
		if err != nil {
			return fmt.Errorf("read %s: %w", stream, err)
		}
		if err := nc.PublishRequest(call, inbox, request); err != nil {
			return fmt.Errorf("read %s: %w", stream, err)
		}
		last, more, err := scanAnswers(ctx, sub, take)
		if err != nil {
			return fmt.Errorf("read %s: %w", stream, err)
		}
		if !more {
			return nil
		}
		next = get{Seq: last + 1, Batch: scanBatch, Subject: subject}
	}
}

// scanAnswers takes the answers to one request, up to the one that ends them.
func scanAnswers(ctx context.Context, sub *nats.Subscription, take func(*nats.Msg) error) (last uint64, more bool, err error) {
	for {
		one, cancel := context.WithTimeout(ctx, silentFor)
		m, err := sub.NextMsgWithContext(one)
		cancel()
		if err != nil {
			return 0, false, err
		}
		switch status := m.Header.Get("Status"); status {
		case "":
		case "204": // the end of this request's messages
			pending, err := strconv.ParseUint(m.Header.Get("Nats-Num-Pending"), 10, 64)
			return last, err == nil && pending > 0 && last > 0, nil
		case "404":
			return 0, false, nil
		default:
			return 0, false, fmt.Errorf("%s %s", status, m.Header.Get("Description"))
		}
		if last, err = strconv.ParseUint(m.Header.Get("Nats-Sequence"), 10, 64); err != nil {
			return 0, false, fmt.Errorf("a message without its number: %w", err)
		}
		if err := take(m); err != nil {
			return 0, false, err
		}
	}
}

// silentFor is how long the log may say nothing while it is read.
const silentFor = 10 * time.Second
