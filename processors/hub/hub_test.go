package hub

import (
	"context"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"go.uber.org/goleak"
	"google.golang.org/protobuf/proto"

	"fairlead/deploy/engine/enginetest"
	"fairlead/ingest/collector"
	"fairlead/ingest/event"
	"fairlead/ingest/feed"
	"fairlead/ingest/journal"
	"fairlead/ingest/relay"
	"fairlead/ingest/stream"
	"fairlead/processors/store"
	"fairlead/processors/tag"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(enginetest.Wrap(m)) }

const fieldMap = `
map: 1
device: willow
role: ball
format: csv
shot_id: {columns: [id]}
fields:
  carry: {column: carry, unit: m}
  offline: {column: offline, unit: m}
  ball_speed: {column: ball, unit: m/s}
`

// bench is a whole studio in one process: broker, engine, collector, hub.
type bench struct {
	t      *testing.T
	place  stream.Place
	file   string
	store  *store.Store
	broker *stream.Broker
	visits *journal.Journal
	seen   *event.Seen
	stop   []func()
	log    *slog.Logger
}

func newBench(t *testing.T) *bench {
	t.Helper()
	dir := t.TempDir()
	b := &bench{t: t, place: stream.Place{Studio: "harbour-row", Bay: "north"}, file: filepath.Join(dir, "shots.csv"), log: slog.New(slog.NewTextHandler(testWriter{t}, &slog.HandlerOptions{Level: slog.LevelWarn}))}
	var err error
	if b.broker, err = stream.StartBroker(stream.BrokerOptions{Listen: "127.0.0.1:0", DataDir: filepath.Join(dir, "broker")}); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(b.broker.Stop)
	b.store = store.New(enginetest.New(t).Open(t))
	if err := os.WriteFile(b.file, []byte("id,carry,offline,ball\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	b.run(func(ctx context.Context) error {
		return collector.Run(ctx, collector.Options{
			Place: b.place, JournalDir: filepath.Join(dir, "journal"), Link: stream.Link{URL: b.broker.URL(), Name: "north"},
			Feeds: []collector.Feed{{Name: "ball", Source: b.tail()}}, Retention: time.Hour, Logger: b.log, Registry: prometheus.NewRegistry(),
		})
	})
	b.run(b.hub)
	b.console(filepath.Join(dir, "visits"))
	t.Cleanup(func() {
		for i := len(b.stop) - 1; i >= 0; i-- {
			b.stop[i]()
		}
	})
	return b
}

func (b *bench) hub(ctx context.Context) error {
	nc, js, err := stream.Connect(stream.Link{URL: b.broker.URL(), Name: "hub", Logger: b.log})
	if err != nil {
		return err
	}
	defer nc.Close()
	return Run(ctx, Options{Conn: nc, JS: js, Layout: stream.DefaultLayout(), Store: b.store, Bays: []stream.Place{b.place}, Logger: b.log, Registry: prometheus.NewRegistry()})
}

type testWriter struct{ t *testing.T }

func (w testWriter) Write(p []byte) (int, error) {
	w.t.Logf("%s", p)
	return len(p), nil
}

// run runs a process until the test ends, or until the returned function is called.
func (b *bench) run(process func(context.Context) error) (stop func()) {
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan struct{})
	go func() {
		defer close(done)
		if err := process(ctx); err != nil && ctx.Err() == nil {
			b.t.Errorf("a process ended: %v", err)
		}
	}()
	stop = sync.OnceFunc(func() { cancel(); <-done })
	b.stop = append(b.stop, stop)
	return stop
}

func (b *bench) tail() feed.Source {
	m, err := feed.ParseMap("willow.yaml", []byte(fieldMap))
	if err != nil {
		b.t.Fatal(err)
	}
	s, err := feed.NewTail(feed.TailConfig{Map: m, Path: b.file})
	if err != nil {
		b.t.Fatal(err)
	}
	return s
}

// console opens the journal of visit events and carries it to the log.
func (b *bench) console(dir string) {
	j, _, err := journal.Open(journal.Options{Dir: dir, Studio: b.place.Studio, Bay: ConsoleBay})
	if err != nil {
		b.t.Fatal(err)
	}
	b.visits = j
	b.t.Cleanup(func() { j.Close() })
	nc, js, err := stream.Connect(stream.Link{URL: b.broker.URL(), Name: "console"})
	if err != nil {
		b.t.Fatal(err)
	}
	counter := func() prometheus.Counter { return prometheus.NewCounter(prometheus.CounterOpts{Name: "x"}) }
	p := relay.NewPublisher(j, js, relay.Events(), dir, relay.Metrics{Published: counter(), Errors: counter(), Repaired: counter()})
	b.run(func(ctx context.Context) error { p.Run(ctx); nc.Close(); return nil })
}

func (b *bench) say(ev *event.VisitEvent) string {
	b.t.Helper()
	now := time.Now()
	ev.Contract, ev.Studio, ev.Bay, ev.Visit, ev.Session = event.Contract, b.place.Studio, b.place.Bay, "v1", "s1"
	ev.Id = event.NewID(now)
	ev.RecordedUnixNs = now.UnixNano()
	if ev.EffectiveUnixNs == 0 {
		ev.EffectiveUnixNs = now.UnixNano()
	}
	data, err := proto.Marshal(ev)
	if err != nil {
		b.t.Fatal(err)
	}
	if _, err := b.visits.Append(b.t.Context(), journal.Record{Payload: data}); err != nil {
		b.t.Fatal(err)
	}
	time.Sleep(20 * time.Millisecond) // so that what follows is after it
	return ev.Id
}

func (b *bench) hit(from, to int) {
	b.t.Helper()
	f, err := os.OpenFile(b.file, os.O_APPEND|os.O_WRONLY, 0)
	if err != nil {
		b.t.Fatal(err)
	}
	defer f.Close()
	for i := from; i <= to; i++ {
		fmt.Fprintf(f, "%d,%.1f,%.1f,%.1f\n", i, 150+float64(i%9), float64(i%5)-2, 52.5)
	}
	b.until(fmt.Sprintf("%d shots stored", to), func() bool {
		var n uint64
		err := b.store.Conn().QueryRow(b.t.Context(), "SELECT uniqExact(shot_id) FROM entries").Scan(&n)
		return err == nil && n >= uint64(to)
	})
}

func (b *bench) until(what string, ok func() bool) {
	b.t.Helper()
	for deadline := time.Now().Add(20 * time.Second); !ok(); time.Sleep(20 * time.Millisecond) {
		if time.Now().After(deadline) {
			b.t.Fatalf("not within 20 s: %s", what)
		}
	}
}

// trialN reads a trial's n as the table says.
func (b *bench) trialN(trial string) int {
	var n uint32
	if b.store.Conn().QueryRow(b.t.Context(), "SELECT n FROM trials FINAL WHERE trial = ?", trial).Scan(&n) != nil {
		return -1
	}
	return int(n)
}

func shotIDs(from, to int) (out [][]byte) {
	for i := from; i <= to; i++ {
		id := event.ShotIDFor("willow", fmt.Sprint(i))
		out = append(out, id[:])
	}
	return out
}

func start(trial string, loft float64) *event.VisitEvent {
	return &event.VisitEvent{Body: &event.VisitEvent_TrialStarted{TrialStarted: &event.TrialStarted{Trial: trial, Build: &event.Build{Name: trial,
		Specs: []*event.Spec{{Field: event.BuildField_BUILD_LOFT, Number: loft}}}}}}
}

func TestAShotsWholeWay(t *testing.T) {
	b := newBench(t)
	b.say(&event.VisitEvent{Body: &event.VisitEvent_SessionOpened{SessionOpened: &event.SessionOpened{Player: "p1", Hand: event.Hand_HAND_RIGHT, Category: "iron"}}})
	b.say(start("t1", 30))
	b.hit(1, 10)
	b.say(start("t2", 32))
	b.hit(11, 20)
	b.until("both trials have ten", func() bool { return b.trialN("t1") == 10 && b.trialN("t2") == 10 })

	// A club swap that was entered late: the two shots before belong to it.
	moved := b.say(&event.VisitEvent{Body: &event.VisitEvent_ShotsMoved{ShotsMoved: &event.ShotsMoved{ShotIds: shotIDs(9, 10), Trial: "t2"}}})
	b.until("two shots moved", func() bool { return b.trialN("t1") == 8 && b.trialN("t2") == 12 })
	b.say(&event.VisitEvent{Body: &event.VisitEvent_ShotsExcluded{ShotsExcluded: &event.ShotsExcluded{ShotIds: shotIDs(1, 1), Reason: "topped"}}})
	b.until("one excluded", func() bool { return b.trialN("t1") == 7 })
	b.say(&event.VisitEvent{Body: &event.VisitEvent_Voided{Voided: &event.Voided{Event: moved, Reason: "wrong shots"}}})
	b.until("the move taken back", func() bool { return b.trialN("t1") == 9 && b.trialN("t2") == 10 })

	// The hub dies and another takes over; the device's file is written on.
	b.stop[1]()
	b.stop[1] = b.run(b.hub)
	b.hit(21, 30)
	b.until("the new owner goes on", func() bool { return b.trialN("t2") == 20 })
	b.same()
}

// same compares the stored tags with the pure function over all facts.
func (b *bench) same() {
	b.t.Helper()
	ctx := b.t.Context()
	events, err := b.store.Events(ctx, b.place)
	if err != nil {
		b.t.Fatal(err)
	}
	log := logOf(events)
	entries, err := b.store.Between(ctx, b.place, -1<<63, 1<<63-1)
	if err != nil {
		b.t.Fatal(err)
	}
	var facts []tag.Fact
	for _, e := range entries {
		facts = append(facts, tag.FactOf(e))
	}
	want := tag.Compute(log, facts)
	rows, err := b.store.Conn().Query(ctx, "SELECT journal, seq, status, trial, toInt64(order_trial) FROM entries FINAL")
	if err != nil {
		b.t.Fatal(err)
	}
	defer rows.Close()
	n := 0
	for rows.Next() {
		var journal, status, trial string
		var seq uint64
		var order int64
		if err := rows.Scan(&journal, &seq, &status, &trial, &order); err != nil {
			b.t.Fatal(err)
		}
		n++
		for k, w := range want {
			if k.Journal == journal && k.Seq == seq && (w.Status.String() != status || w.Trial != trial || int64(w.OrderInTrial) != order) {
				b.t.Errorf("%s: stored %s %s %d, want %s %s %d", k, status, trial, order, w.Status, w.Trial, w.OrderInTrial)
			}
		}
	}
	if n != len(want) {
		b.t.Errorf("%d rows, want %d", n, len(want))
	}
}
