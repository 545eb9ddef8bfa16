package process

import (
	"bytes"
	"cmp"
	"context"
	"flag"
	"log/slog"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/prometheus/client_golang/prometheus"
	dto "github.com/prometheus/client_model/go"
	"go.uber.org/goleak"

	"fairlead/deploy/engine"
	"fairlead/deploy/engine/enginetest"
	"fairlead/deploy/proof"
	"fairlead/ingest/log/stream"
	"fairlead/processors/hub/store"
)

func TestMain(m *testing.M) {
	brokerMain()
	nodeMain()
	// These tests wait more than they work.
	flag.Set("test.parallel", "5")
	goleak.VerifyTestMain(enginetest.Wrap(m))
}

// setup says what of a bench stands on a disk of its own.
type setup struct {
	broker string // folder of the broker's files; empty: any
	engine string // folder of an engine of this bench alone; empty: the shared one
	keys   bool   // with credentials
	studio string // empty: harbour-row
	// studios send what they stored from elsewhere; each gets a key.
	studios []string
	nodes   func() string // addresses of a cluster in the broker's place
	layout  stream.Layout // zero: the default
	// dsn changes the address of the store, for a proxy before it.
	dsn func(dsn string) string
}

// bench is a whole studio: a broker and an engine that can be killed, the hub,
// the console's journal and any number of bays.
type bench struct {
	t       *testing.T
	dir     string // holds what is never cut, the devices' files above all
	studio  string
	studios []string // that send from elsewhere
	log     *slog.Logger
	said    *spoken
	layout  stream.Layout
	keyring *stream.Keyring
	broker  *brokerProcess // nil: nodes
	nodes   func() string
	engine  *engine.Process // nil: the shared one
	engines engine.Options
	dsn     string
	store   *store.Store
	console *console
	bays    []*bay
	hubStop func()
	hubConn *nats.Conn           // of the hub that runs
	metrics *prometheus.Registry // of the hub that runs
	stop    []func()
}

// newBench starts broker, engine and console; the hub and the bays are started by the test.
func newBench(t *testing.T, s setup) *bench {
	t.Helper()
	b := &bench{t: t, dir: t.TempDir(), studio: cmp.Or(s.studio, "harbour-row"), studios: s.studios, said: &spoken{t: t},
		layout: s.layout}
	if b.layout.ShotsFor == 0 {
		b.layout = stream.DefaultLayout()
	}
	b.log = slog.New(slog.NewTextHandler(b.said, &slog.HandlerOptions{Level: slog.LevelInfo}))
	t.Cleanup(func() {
		for i := len(b.stop) - 1; i >= 0; i-- {
			b.stop[i]()
		}
		b.said.end()
	})
	if s.broker == "" {
		s.broker = filepath.Join(b.dir, "broker")
	}
	b.nodes = s.nodes
	if b.nodes == nil {
		b.broker = &brokerProcess{t: t, dir: s.broker}
	}
	if s.keys {
		b.keyring = &stream.Keyring{Dir: filepath.Join(b.dir, "keys")}
		b.broker.keys = b.keyring.Dir
		if err := b.keyring.Ensure(stream.Grant{Name: "hub", Role: stream.RoleHub}); err != nil {
			t.Fatal(err)
		}
		for _, name := range b.studios {
			if err := b.keyring.Ensure(stream.Grant{Name: stream.StudioCredential(name), Role: stream.RoleStudio, Studio: name}); err != nil {
				t.Fatal(err)
			}
		}
	}
	if b.nodes == nil {
		b.broker.start()
		b.stop = append(b.stop, func() { b.broker.stop() })
	}
	dsn := ""
	if s.engine == "" {
		dsn = enginetest.New(t).DSN()
	} else {
		binary, err := enginetest.Binary()
		if err != nil {
			t.Fatal(err)
		}
		b.engines = engine.Options{Binary: binary, DataDir: s.engine, TokenFile: filepath.Join(b.dir, "engine.token"), Memory: "1 GiB"}
		b.startEngine()
		b.engines.Listen = b.engine.Addr()
		b.stop = append(b.stop, func() { b.engine.Stop() })
		dsn = b.engine.DSN()
	}
	if s.dsn != nil {
		dsn = s.dsn(dsn)
	}
	b.dsn = dsn
	var err error
	if b.store, err = store.Open(dsn); err != nil {
		t.Fatal(err)
	}
	b.stop = append(b.stop, func() { b.store.Close() })
	b.console = newConsole(b)
	return b
}

func (b *bench) startEngine() {
	b.t.Helper()
	var err error
	if b.engine, err = engine.Start(context.Background(), b.engines); err != nil {
		b.t.Fatal(err)
	}
}

// link is how a process reaches the broker: credential names its key.
func (b *bench) link(credential string, place stream.Place) stream.Link {
	l := stream.Link{Name: credential, Logger: b.log}
	if b.nodes != nil {
		l.URL = b.nodes()
	} else {
		l.URL = b.broker.url()
	}
	if b.keyring != nil {
		l.SeedFile = b.keyring.SeedFile(credential)
	}
	if place.Bay != "" && b.keyring != nil {
		l.Inbox = place.InboxPrefix()
	}
	return l
}

// startHub starts the hub; stopHub ends it.
func (b *bench) startHub() {
	b.t.Helper()
	b.metrics = prometheus.NewRegistry()
	r := b.metrics
	connected := make(chan *nats.Conn, 1)
	defer func() { b.hubConn = <-connected }()
	b.hubStop = b.run(func(ctx context.Context) error {
		nc, js, err := stream.Connect(b.link("hub", stream.Place{}))
		connected <- nc
		if err != nil {
			return err
		}
		defer nc.Close()
		var places []stream.Place
		for _, bay := range b.bays {
			places = append(places, bay.place)
		}
		return Run(ctx, Options{Conn: nc, JS: js, Layout: b.layout, Store: b.store, Bays: places, Home: b.studio,
			Studios: b.studios, Logger: b.log, Registry: r})
	})
}

func (b *bench) stopHub() { b.hubStop() }

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

// until waits, and where that fails shows all that bears on it.
func (b *bench) until(what string, ok func() bool) {
	b.t.Helper()
	came := false
	defer func() {
		if !came {
			b.t.Logf("%s: what there is instead:\n%s", what, b.state())
		}
	}()
	proof.Until(b.t, what, ok)
	came = true
}

// untilStored is until for what is asked of the store: it asks when the hub has written
// since, and once a second besides. A statement costs the engine some milliseconds, which
// everything that waits beside it would pay for.
func (b *bench) untilStored(what string, ok func() bool) {
	b.t.Helper()
	seen, asked := -1.0, time.Time{}
	b.until(what, func() bool {
		rows := 0.0
		if b.metrics != nil {
			rows = b.metric("fairlead_process_rows_stored_total", "")
		}
		if rows == seen && time.Since(asked) < time.Second {
			return false
		}
		seen, asked = rows, time.Now()
		return ok()
	})
}

// metric is the sum of a metric of the hub over its labels that hold a word.
func (b *bench) metric(name, with string) float64 { return sum(b.metrics, name, with) }

func sum(g prometheus.Gatherer, name, with string) (total float64) {
	families, err := g.Gather()
	if err != nil {
		return 0
	}
	for _, f := range families {
		for _, m := range f.Metric {
			if f.GetName() == name && (with == "" || labelled(m, with)) {
				total += m.GetCounter().GetValue() + m.GetGauge().GetValue()
			}
		}
	}
	return total
}

func labelled(m *dto.Metric, value string) bool {
	for _, l := range m.Label {
		if l.GetValue() == value {
			return true
		}
	}
	return false
}

// spoken keeps what the processes logged, for a test that asks whether an alarm
// was raised, and shows it when the test fails.
type spoken struct {
	t  *testing.T
	mu sync.Mutex
	b  bytes.Buffer
}

func (s *spoken) Write(p []byte) (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.b.Write(p)
}

func (s *spoken) has(words string) bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	return strings.Contains(s.b.String(), words)
}

func (s *spoken) end() {
	if s.t.Failed() {
		s.mu.Lock()
		defer s.mu.Unlock()
		text := s.b.String()
		s.t.Logf("the processes said:\n%s", text[max(0, len(text)-8000):])
	}
}
