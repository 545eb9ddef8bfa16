package relay

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"
	"google.golang.org/protobuf/proto"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/journal"
	"fairlead/ingest/log/stream"
)

// maxRepair bounds one repair, so that live shots are not starved; the gap
// watch asks again for the rest.
const maxRepair = 20000

// Repairer publishes again what the hub found missing.
type Repairer struct {
	// Keep answers requests about copies of visit events; nil: none are kept here.
	Keep func(*event.Keep) *event.RepairReply
	// Pace is the publisher's.
	Pace *stream.Pace

	journal *journal.Journal
	js      jetstream.JetStream
	form    Form
	metrics Metrics
	log     *slog.Logger
	queue   chan *nats.Msg
}

// NewRepairer makes a repairer of the journals of j.
func NewRepairer(j *journal.Journal, js jetstream.JetStream, form Form, m Metrics, log *slog.Logger) *Repairer {
	return &Repairer{journal: j, js: js, form: form, metrics: m, log: log, queue: make(chan *nats.Msg, 8)}
}

// Subscribe takes requests for a place; Run answers them.
func (r *Repairer) Subscribe(nc *nats.Conn, place stream.Place) (*nats.Subscription, error) {
	return nc.Subscribe(place.RepairSubject(), func(m *nats.Msg) {
		select {
		case r.queue <- m:
		default:
			r.answer(m, &event.RepairReply{Error: "busy with an earlier repair: ask again later"})
		}
	})
}

// Run answers requests one at a time until ctx ends.
func (r *Repairer) Run(ctx context.Context) {
	for {
		select {
		case <-ctx.Done():
			return
		case m := <-r.queue:
			var request event.RepairRequest
			if err := proto.Unmarshal(m.Data, &request); err != nil {
				r.answer(m, &event.RepairReply{Error: "unreadable request: " + err.Error()})
				continue
			}
			if request.Keep != nil && r.Keep != nil {
				r.answer(m, r.Keep(request.Keep))
				continue
			}
			r.answer(m, r.repair(ctx, &request))
		}
	}
}

func (r *Repairer) answer(m *nats.Msg, reply *event.RepairReply) {
	data, err := proto.Marshal(reply)
	if err == nil {
		err = m.Respond(data)
	}
	if err != nil {
		r.log.Warn("repair reply not sent", "error", err)
	}
}

// repair publishes the ranges again under fresh message ids.
func (r *Repairer) repair(ctx context.Context, request *event.RepairRequest) *event.RepairReply {
	reply := &event.RepairReply{}
	known := false
	for _, info := range r.journal.Journals() {
		known = known || info.ID == request.Journal
	}
	if !known {
		reply.Gone, reply.Error = request.Ranges, fmt.Sprintf("no journal %s on this machine", request.Journal)
		return reply
	}
	for _, span := range request.Ranges {
		if err := r.span(ctx, request, span, reply); err != nil {
			reply.Error = err.Error()
			return reply
		}
		if reply.Sent >= maxRepair {
			break
		}
	}
	r.log.Info("repaired", "journal", request.Journal, "sent", reply.Sent)
	return reply
}

func (r *Repairer) span(ctx context.Context, request *event.RepairRequest, span *event.Range, reply *event.RepairReply) error {
	reader := r.journal.Read(request.Journal, span.From)
	defer reader.Close()
	expected := span.From
	var batch []stream.Message
	flush := func() error {
		if err := r.Pace.Wait(ctx, batch); err != nil {
			return err
		}
		done, err := stream.Publish(ctx, r.js, batch)
		reply.Sent += uint64(done)
		r.metrics.Repaired.Add(float64(done))
		batch = batch[:0]
		return err
	}
	for expected <= span.To && reply.Sent+uint64(len(batch)) < maxRepair {
		e, ok, err := reader.TryNext()
		if err != nil && !errors.Is(err, io.EOF) {
			return err
		}
		if !ok || err != nil || e.Seq > span.To {
			reply.Gone = append(reply.Gone, &event.Range{From: expected, To: span.To})
			break
		}
		if e.Seq > expected {
			reply.Gone = append(reply.Gone, &event.Range{From: expected, To: e.Seq - 1})
		}
		expected = e.Seq + 1
		batch = append(batch, r.form.message(e, "-"+request.Nonce))
		if len(batch) == batchSize {
			if err := flush(); err != nil {
				return err
			}
		}
	}
	return flush()
}
