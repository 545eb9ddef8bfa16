package process

import (
	"context"
	"path/filepath"
	"sync"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/prometheus/client_golang/prometheus"
	"google.golang.org/protobuf/proto"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/journal"
	"fairlead/ingest/log/relay"
	"fairlead/ingest/log/stream"
)

// console carries a journal of visit events to the log, and repairs and
// reports it, as the console's process does.
type console struct {
	b       *bench
	place   stream.Place
	journal *journal.Journal
	seq     int
	ends    []func() // of what it runs, the first last
}

func newConsole(b *bench) *console { return consoleIn(b, filepath.Join(b.dir, "visits")) }

// stop ends it, as the disk of its machine does that dies.
func (c *console) stop() {
	for i := len(c.ends) - 1; i >= 0; i-- {
		c.ends[i]()
	}
}

// consoleIn keeps its journal in a folder.
func consoleIn(b *bench, dir string) *console {
	b.t.Helper()
	j, _, err := journal.Open(journal.Options{Dir: dir, Studio: b.studio, Bay: ConsoleBay})
	if err != nil {
		b.t.Fatal(err)
	}
	c := &console{b: b, place: stream.Place{Studio: b.studio, Bay: ConsoleBay}, journal: j}
	later := func(f func()) {
		f = sync.OnceFunc(f)
		b.stop, c.ends = append(b.stop, f), append(c.ends, f)
	}
	later(func() { j.Close() })
	nc, js, err := stream.Connect(b.link("hub", stream.Place{}))
	if err != nil {
		b.t.Fatal(err)
	}
	later(nc.Close)
	counter := func() prometheus.Counter { return prometheus.NewCounter(prometheus.CounterOpts{Name: "x"}) }
	m := relay.Metrics{Published: counter(), Errors: counter(), Repaired: counter()}
	p := relay.NewPublisher(j, js, relay.Events(), dir, m)
	r := relay.NewRepairer(j, js, relay.Events(), m, b.log)
	r.Keep = c.takeBack
	if _, err := r.Subscribe(nc, c.place); err != nil {
		b.t.Fatal(err)
	}
	heartbeat := func() *event.Heartbeat {
		return &event.Heartbeat{Studio: b.studio, Bay: ConsoleBay, SentUnixNs: time.Now().UnixNano(), Journals: relay.States(j)}
	}
	answer := func(request []byte, send func([]byte) error) {
		if data, err := relay.Answer(request, j, relay.Events(), heartbeat); err == nil {
			send(data)
		}
	}
	if _, err := nc.Subscribe(c.place.AskSubject(), func(m *nats.Msg) { answer(m.Data, m.Respond) }); err != nil {
		b.t.Fatal(err)
	}
	c.ends = append(c.ends, b.run(func(ctx context.Context) error {
		for beat := time.NewTicker(2 * time.Second); ; {
			select {
			case <-ctx.Done():
				beat.Stop()
				return nil
			case <-beat.C:
				answer(nil, func(data []byte) error { return nc.Publish(c.place.HealthSubject(), data) })
			}
		}
	}))
	c.ends = append(c.ends, b.run(func(ctx context.Context) error { p.Run(ctx); return nil }))
	c.ends = append(c.ends, b.run(func(ctx context.Context) error { r.Run(ctx); return nil }))
	return c
}

// takeBack writes events that the hub had no more, as the console's process does.
func (c *console) takeBack(k *event.Keep) *event.RepairReply {
	reply := &event.RepairReply{}
	for _, data := range k.Events {
		ev := &event.VisitEvent{}
		if err := proto.Unmarshal(data, ev); err != nil {
			c.b.t.Error(err)
		}
		ev.Journal, ev.Seq = "", 0
		c.append(ev)
		reply.Sent++
	}
	return reply
}

// note writes a visit event of a bay's session s1 and returns its id. Without
// an effective time it is now.
func (y *bay) note(ev *event.VisitEvent) string {
	y.b.t.Helper()
	now := time.Now()
	ev.Contract, ev.Studio, ev.Bay, ev.Visit = event.Contract, y.place.Studio, y.place.Bay, "v-"+y.place.Bay
	if ev.Session == "" {
		ev.Session = "s-" + y.place.Bay
	}
	ev.Id = event.NewID(now)
	ev.RecordedUnixNs = now.UnixNano()
	if ev.EffectiveUnixNs == 0 {
		ev.EffectiveUnixNs = now.UnixNano()
	}
	y.b.console.append(ev)
	return ev.Id
}

// say is note after all that was written before, and before all that follows.
func (y *bay) say(ev *event.VisitEvent) string {
	y.b.t.Helper()
	if y.wrote {
		y.looks()
	}
	id := y.note(ev)
	y.looks()
	return id
}

func (c *console) append(ev *event.VisitEvent) {
	c.b.t.Helper()
	data, err := proto.Marshal(ev)
	if err != nil {
		c.b.t.Fatal(err)
	}
	if _, err := c.journal.Append(c.b.t.Context(), journal.Record{Payload: data}); err != nil {
		c.b.t.Fatal(err)
	}
	c.seq++
}

func opened() *event.VisitEvent {
	return &event.VisitEvent{Body: &event.VisitEvent_SessionOpened{SessionOpened: &event.SessionOpened{Player: "p1",
		Hand: event.Hand_HAND_RIGHT, Category: "iron"}}}
}

func started(trial string, loft float64) *event.VisitEvent {
	return &event.VisitEvent{Body: &event.VisitEvent_TrialStarted{TrialStarted: &event.TrialStarted{Trial: trial,
		Build: &event.Build{Name: trial,
			Specs: []*event.Spec{{Field: event.BuildField_BUILD_LOFT, Number: loft}}}}}}
}

func moved(trial string, ids [][]byte) *event.VisitEvent {
	return &event.VisitEvent{Body: &event.VisitEvent_ShotsMoved{ShotsMoved: &event.ShotsMoved{ShotIds: ids, Trial: trial}}}
}

func excluded(reason string, ids [][]byte) *event.VisitEvent {
	return &event.VisitEvent{Body: &event.VisitEvent_ShotsExcluded{ShotsExcluded: &event.ShotsExcluded{ShotIds: ids, Reason: reason}}}
}

func voided(id string) *event.VisitEvent {
	return &event.VisitEvent{Body: &event.VisitEvent_Voided{Voided: &event.Voided{Event: id, Reason: "wrong"}}}
}
