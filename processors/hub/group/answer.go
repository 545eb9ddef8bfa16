package group

import (
	"context"
	"fmt"
	"sync"
	"time"

	"github.com/nats-io/nats.go"
	"google.golang.org/protobuf/proto"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/stream"
	"fairlead/processors/hub/gap"
)

// To the head office the forwarding is the collector of each of the studio's bays:
// it says what it has sent, and sends again what the head office's rows lack.

// flushWithin is how long a heartbeat may take to leave.
const flushWithin = 10 * time.Second

// beatAll says of each bay what there is of its journals.
func (c *carrier) beatAll(ctx context.Context) error {
	for place, h := range c.heartbeats() {
		data, err := proto.Marshal(h)
		if err != nil {
			return err
		}
		if err := c.Conn.Publish(place.HealthSubject(), data); err != nil {
			return err
		}
	}
	ctx, cancel := context.WithTimeout(ctx, flushWithin)
	defer cancel()
	return c.Conn.FlushWithContext(ctx)
}

// heartbeats say of journals what the head office was sent. What waits here is nothing
// that it lacks: it would ask for weeks of shots that are on their way.
func (c *carrier) heartbeats() map[stream.Place]*event.Heartbeat {
	out := map[stream.Place]*event.Heartbeat{}
	for _, held := range c.journals() {
		h := out[held.Place]
		if h == nil {
			h = &event.Heartbeat{Studio: held.Place.Studio, Bay: held.Place.Bay, SentUnixNs: time.Now().UnixNano()}
			out[held.Place] = h
		}
		if len(held.Ranges) > 0 {
			h.Journals = append(h.Journals, held.state(max(c.sent[held.Key], c.there[held.Key])))
		}
	}
	return out
}

// line is what the head office asked for, and what its questions are answered from at
// once: who asks waits for seconds only, and its broker lets an answer through for
// minutes only, while what is asked for may be an hour's way on a slow line.
type line struct {
	mu     sync.Mutex
	beats  map[stream.Place]*event.Heartbeat
	stored map[gap.Key]gap.Ranges
	wanted map[gap.Key]*wanted
}

// wanted is what the head office's rows lack of a journal.
type wanted struct {
	gap.Ranges
	nonce string // of who asked last
}

// say is told what there is.
func (l *line) say(beats map[stream.Place]*event.Heartbeat, all map[gap.Key]*held) {
	stored := make(map[gap.Key]gap.Ranges, len(all))
	for key, h := range all {
		stored[key] = h.Ranges // another count is another slice
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	l.beats, l.stored = beats, stored
}

// beat is what a bay's heartbeat would say; nil: nothing is known of it.
func (l *line) beat(place stream.Place) *event.Heartbeat {
	l.mu.Lock()
	defer l.mu.Unlock()
	h := l.beats[place]
	if h == nil {
		return nil
	}
	h = proto.CloneOf(h)
	h.SentUnixNs = time.Now().UnixNano()
	return h
}

// want puts into the line what a request asks for and there is, once, however often
// it is asked for.
func (l *line) want(place stream.Place, request *event.RepairRequest) *event.RepairReply {
	reply := &event.RepairReply{}
	if request.Keep != nil {
		reply.Error = "a studio keeps no copies for its head office"
		return reply
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	key := gap.Key{Place: place, Journal: request.Journal}
	stored, ok := l.stored[key]
	if !ok {
		reply.Gone, reply.Error = request.Ranges, fmt.Sprintf("the studio has stored nothing of journal %s", request.Journal)
		return reply
	}
	for _, r := range request.Ranges {
		reply.Gone = append(reply.Gone, stored.Missing(r.From, r.To).Message()...)
		for _, has := range stored.And(gap.Ranges{{From: r.From, To: r.To}}) {
			l.add(key, has, request.Nonce)
		}
	}
	return reply
}

func (l *line) add(key gap.Key, r gap.Range, nonce string) {
	w := l.wanted[key]
	if w == nil {
		if l.wanted == nil {
			l.wanted = map[gap.Key]*wanted{}
		}
		w = &wanted{}
		l.wanted[key] = w
	}
	w.Add(r.From, r.To)
	w.nonce = nonce
}

// next takes a stretch of what is wanted out of the line.
func (l *line) next() (key gap.Key, r gap.Range, nonce string, ok bool) {
	l.mu.Lock()
	defer l.mu.Unlock()
	for key, w := range l.wanted {
		r := w.Ranges[0]
		r.To = min(r.To, r.From+stretch-1)
		if w.Remove(r.From, r.To); len(w.Ranges) == 0 {
			delete(l.wanted, key)
		}
		return key, r, w.nonce, true
	}
	return key, r, "", false
}

func (l *line) busy() bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	return len(l.wanted) > 0
}

// back puts a stretch into the line.
func (l *line) back(key gap.Key, r gap.Range, nonce string) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.add(key, r, nonce)
}

// answerAt answers the head office's questions from now on.
func (c *carrier) answerAt() error {
	all := stream.Place{Studio: c.Studio, Bay: "*"}
	for _, subject := range []string{all.RepairSubject(), all.AskSubject()} {
		if _, err := c.Conn.Subscribe(subject, c.answer); err != nil {
			return err
		}
	}
	return nil
}

func (c *carrier) answer(m *nats.Msg) {
	place, ok := stream.PlaceOf(m.Subject)
	if !ok {
		return
	}
	var reply proto.Message
	if m.Subject == place.AskSubject() {
		h := c.line.beat(place)
		if h == nil {
			return
		}
		reply = h
	} else {
		var request event.RepairRequest
		if err := proto.Unmarshal(m.Data, &request); err != nil {
			return
		}
		reply = c.line.want(place, &request)
	}
	data, err := proto.Marshal(reply)
	if err == nil {
		err = m.Respond(data)
	}
	if err != nil {
		c.Logger.Debug("the head office's question was not answered", "subject", m.Subject, "error", err)
	}
}

// again sends a stretch of what the head office lacks, under fresh ids: its broker
// swallows a repeated one also after the message was lost. More says that there may
// be another one.
func (c *carrier) again(ctx context.Context) (more bool, err error) {
	key, r, nonce, ok := c.line.next()
	if !ok {
		return false, nil
	}
	batch, err := c.source.messages(ctx, key, r.From, r.To, "-"+nonce)
	if err != nil {
		err = fmt.Errorf("%w: %w", errOwn, err)
	} else {
		err = c.send(ctx, batch)
	}
	if err != nil {
		c.line.back(key, r, nonce)
		return false, err
	}
	c.metrics.again.Add(float64(len(batch)))
	return true, nil
}
