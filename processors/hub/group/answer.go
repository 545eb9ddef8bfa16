package group

import (
	"context"
	"fmt"
	"time"

	"github.com/nats-io/nats.go"
	"google.golang.org/protobuf/proto"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/stream"
	"fairlead/processors/hub/gap"
)

// To the head office the forwarding is the collector of each of the studio's bays:
// it says what there is, and sends again what the head office's rows lack.

// mostAgain bounds one repair; the head office asks again for the rest.
const mostAgain = 20000

// beatAll says of each bay what there is of its journals.
func (c *carrier) beatAll() error {
	for place, h := range c.heartbeats() {
		data, err := proto.Marshal(h)
		if err != nil {
			return err
		}
		if err := c.Conn.Publish(place.HealthSubject(), data); err != nil {
			return err
		}
	}
	return c.Conn.Flush()
}

func (c *carrier) heartbeats() map[stream.Place]*event.Heartbeat {
	out := map[stream.Place]*event.Heartbeat{}
	for _, held := range c.journals() {
		h := out[held.Place]
		if h == nil {
			h = &event.Heartbeat{Studio: held.Place.Studio, Bay: held.Place.Bay, SentUnixNs: time.Now().UnixNano()}
			out[held.Place] = h
		}
		if len(held.Ranges) > 0 {
			h.Journals = append(h.Journals, held.state())
		}
	}
	return out
}

// answerAt has the head office's questions put in line.
func (c *carrier) answerAt() error {
	all := stream.Place{Studio: c.Studio, Bay: "*"}
	for _, subject := range []string{all.RepairSubject(), all.AskSubject()} {
		if _, err := c.Conn.Subscribe(subject, func(m *nats.Msg) {
			select {
			case c.asked <- m:
			default: // whoever asked asks again
			}
		}); err != nil {
			return err
		}
	}
	return nil
}

func (c *carrier) answer(ctx context.Context, m *nats.Msg) {
	place, ok := stream.PlaceOf(m.Subject)
	if !ok {
		return
	}
	var reply proto.Message
	if m.Subject == place.AskSubject() {
		h := c.heartbeats()[place]
		if h == nil {
			return
		}
		reply = h
	} else {
		var request event.RepairRequest
		if err := proto.Unmarshal(m.Data, &request); err != nil {
			return
		}
		reply = c.again(ctx, place, &request)
	}
	data, err := proto.Marshal(reply)
	if err == nil {
		err = m.Respond(data)
	}
	if err != nil {
		c.Logger.Debug("the head office's question was not answered", "subject", m.Subject, "error", err)
	}
}

// again sends what the head office lacks, under fresh ids: its broker swallows a
// repeated one also after the message was lost.
func (c *carrier) again(ctx context.Context, place stream.Place, request *event.RepairRequest) *event.RepairReply {
	reply := &event.RepairReply{}
	if request.Keep != nil {
		reply.Error = "a studio keeps no copies for its head office"
		return reply
	}
	h := c.source.held[gap.Key{Place: place, Journal: request.Journal}]
	if h == nil {
		reply.Gone, reply.Error = request.Ranges, fmt.Sprintf("the studio has stored nothing of journal %s", request.Journal)
		return reply
	}
	for _, r := range request.Ranges {
		for _, gone := range h.Missing(r.From, r.To) {
			reply.Gone = append(reply.Gone, &event.Range{From: gone.From, To: gone.To})
		}
		for from := r.From; from <= r.To && reply.Sent < mostAgain; from += stretch {
			batch, err := c.source.messages(ctx, h.Key, from, min(from+stretch-1, r.To), "-"+request.Nonce)
			if err == nil {
				err = c.send(ctx, batch)
			}
			if err != nil {
				reply.Error = err.Error()
				return reply
			}
			reply.Sent += uint64(len(batch))
		}
	}
	c.metrics.again.Add(float64(reply.Sent))
	return reply
}
