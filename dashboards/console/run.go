package console

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"sync"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"
	"github.com/prometheus/client_golang/prometheus"
	"google.golang.org/protobuf/proto"

	"fairlead/dashboards/console/people"
	"fairlead/dashboards/gate"
	"fairlead/dashboards/page"
	"fairlead/ingest/bay/desk"
	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/expose"
	"fairlead/ingest/log/journal"
	"fairlead/ingest/log/relay"
	"fairlead/ingest/log/steady"
	"fairlead/ingest/log/stream"
	"fairlead/ingest/log/vault"
	"fairlead/processors/ask/answers"
	"fairlead/processors/hub/health"
	"fairlead/processors/hub/process"
	"fairlead/processors/hub/store"
)

// Options configure the console.
type Options struct {
	Studio     string
	Bays       []string
	Imperial   bool // show yards, mph and inches
	Listen     string
	Hosts      []string // names that the address is served under; see expose.Hosts
	JournalDir string
	PeopleFile string
	Machine    string // identity of the machine; empty: ask the system
	MinFree    int64
	Link       stream.Link
	Version    string
	Logger     *slog.Logger
	Registry   *prometheus.Registry
	Now        func() time.Time // hub's clock; nil for Clock's
	// Clock is the hub's, which the process that serves the bays has too; nil:
	// one of this console alone.
	Clock *steady.Hub
	// Fleet is asked for advice on the players in the bays; nil, or a nil result
	// while the store is away: none. Pages are served below /fleet/.
	Fleet func() *answers.Fleet
	Pages http.Handler
	// Ops is the studio's watch; nil: there is none.
	Ops *Ops
	// Enrol is how bays' PCs come to the studio; nil: they don't by this console.
	Enrol *Enrol
	// Store holds what build sheets and reports are made of; nil: there are none.
	// A nil result means that it is not known yet.
	Store func() *store.Store
	// EraseAfter is how long an erasure that was asked for can be taken back.
	EraseAfter time.Duration
	// Gate asks who comes; nil: nobody is asked.
	Gate *gate.Gate
	// TLS is what the address shows; nil: pages go in clear. Plain answers who comes
	// to it without TLS.
	TLS   *tls.Config
	Plain http.Handler
	// Known says under which names browsers trust TLS's certificate by themselves; see
	// page.Strict. nil: none.
	Known func(host string) bool
	// Ready is called with the address once it is served; may be nil.
	Ready func(address string)
}

// Run serves the console until ctx ends. It fails when it can't begin: its
// address is taken, its journal's folder or its people file can't be used. An
// absent broker is waited for; forms work meanwhile.
func Run(ctx context.Context, o Options) error {
	log := o.Logger
	if log == nil {
		log = slog.New(slog.DiscardHandler)
	}
	if o.Clock == nil {
		o.Clock = steady.Alone(steady.System(), time.Now)
	}
	now := o.Now
	if now == nil {
		now = o.Clock.Now
	}
	m, err := newMetrics(o.Registry)
	if err != nil {
		return fmt.Errorf("console metrics: %w", err)
	}
	// First the address: a second console must not touch the first one's journal.
	listener, err := net.Listen("tcp", o.Listen)
	if err != nil {
		return fmt.Errorf("console: %w: stop what uses the port, or set console.listen", err)
	}
	defer listener.Close()
	place := stream.Place{Studio: o.Studio, Bay: process.ConsoleBay}
	j, report, err := journal.Open(journal.Options{
		Dir: o.JournalDir, Studio: o.Studio, Bay: process.ConsoleBay, Machine: o.Machine, MinFree: o.MinFree, Logger: log, Now: now,
	})
	if err != nil {
		return fmt.Errorf("console: %w", err)
	}
	defer j.Close()
	if n := report.QuarantinedRecords(); n > 0 {
		log.Error("the journal of visit events has damaged stretches; the rest is kept", "events", n)
	}
	keys, err := vault.Open(vault.Beside(o.PeopleFile))
	if err != nil {
		return fmt.Errorf("console: %w", err)
	}
	names, err := people.OpenWith(o.PeopleFile, keys)
	if err == nil {
		err = names.Seal()
	}
	if err != nil {
		return fmt.Errorf("console: %w", err)
	}
	link := o.Link
	link.Logger = log
	nc, js, err := stream.Connect(link)
	if err != nil {
		return fmt.Errorf("console: %w", err)
	}
	defer nc.Close()

	live := newStates(o.Studio, o.Bays, keys, now, log)
	w, err := NewWriter(ctx, o.Studio, o.Bays, j, keys, now, log, live.wake)
	if err != nil {
		return fmt.Errorf("console: %w", err)
	}
	w.clock = o.Clock
	if stored := o.Store; stored != nil {
		o.Store = func() *store.Store {
			s := stored()
			if s != nil {
				s.OpenTexts(keys.Open)
			}
			return s
		}
	}
	form := relay.Events()
	carried := relay.Metrics{Published: m.published, Errors: m.publishErrs, Repaired: m.repaired}
	publisher := relay.NewPublisher(j, js, form, o.JournalDir, carried)
	repairer := relay.NewRepairer(j, js, form, carried, log)
	repairer.Keep = func(k *event.Keep) *event.RepairReply { return w.takeBack(ctx, k.Events) }
	if _, err := repairer.Subscribe(nc, place); err != nil {
		return fmt.Errorf("console: %w", err)
	}
	beats := &reporter{place: place, journal: j, publisher: publisher, metrics: m, gatherer: o.Registry, version: o.Version, now: now,
		clock: o.Clock, log: log}
	asked := &relay.Asked{Journal: j, Form: form, Heartbeat: beats.heartbeat}
	if err := asked.Subscribe(nc, place); err != nil {
		return fmt.Errorf("console: %w", err)
	}
	if _, err := live.subscribe(nc); err != nil {
		return fmt.Errorf("console: %w", err)
	}
	var places []stream.Place
	for _, b := range o.Bays {
		places = append(places, stream.Place{Studio: o.Studio, Bay: b})
	}
	bays := health.New(places, now, log)
	if _, err := bays.Subscribe(nc, func(b health.Bay) { w.meet(ctx, b) }); err != nil {
		return fmt.Errorf("console: %w", err)
	}

	s, err := newServer(ctx, o, w, live, bays, names, m, now, log)
	if err != nil {
		return fmt.Errorf("console: %w", err)
	}
	defer s.printer.Close()
	w.returned = s.cameBack
	if err := s.stayForgotten(); err != nil {
		return fmt.Errorf("console: %w", err)
	}
	s.desk = desk.Client{Conn: nc, Studio: o.Studio}
	handler := expose.Hosts(s.handler(), o.Hosts...)
	if o.Known != nil {
		handler = page.Strict(handler, o.Known)
	}
	web := &http.Server{Handler: handler, TLSConfig: o.TLS, ErrorLog: slog.NewLogLogger(log.Handler(), slog.LevelDebug),
		ReadHeaderTimeout: 5 * time.Second, IdleTimeout: 2 * time.Minute,
		MaxHeaderBytes: 64 << 10,
		BaseContext:    func(net.Listener) context.Context { return ctx }} // live pages end with ctx
	var running sync.WaitGroup
	running.Go(func() { o.Clock.Keep(ctx, log) })
	running.Go(func() { publisher.Run(ctx) })
	if o.Enrol != nil {
		running.Go(func() { o.Enrol.Deliver(ctx, s.desk) })
	}
	if o.Gate != nil {
		running.Go(func() { o.Gate.Run(ctx) })
		if first := o.Gate.FirstPage(listener.Addr().String()); first != "" {
			log.Warn("nobody has an account yet: whoever opens this address makes the owner's", "address", first)
		}
	}
	running.Go(func() { repairer.Run(ctx) })
	running.Go(func() { asked.Run(ctx) })
	running.Go(func() { beats.run(ctx, nc) })
	running.Go(func() { live.ask(ctx, nc, o.Bays) })
	running.Go(func() { learn(ctx, js, w, log) })
	for _, bay := range o.Bays {
		running.Go(func() { s.priors.run(ctx, bay) })
	}
	running.Go(func() {
		<-ctx.Done()
		stop, cancel := context.WithTimeout(context.Background(), 2*time.Second)
		defer cancel()
		if web.Shutdown(stop) != nil {
			web.Close()
		}
	})
	scheme := "http://"
	if o.TLS != nil {
		scheme = "https://"
	}
	log.Info("console", "address", scheme+listener.Addr().String())
	if o.Ready != nil {
		o.Ready(listener.Addr().String())
	}
	if o.TLS == nil {
		err = web.Serve(listener)
	} else {
		secure, plain := gate.Split(listener)
		go servePlain(ctx, plain, o.Plain, log)
		err = web.ServeTLS(secure, "", "")
	}
	if errors.Is(err, http.ErrServerClosed) {
		err = nil
	}
	if ctx.Err() == nil {
		return fmt.Errorf("console: %w", err)
	}
	running.Wait()
	return err
}

// servePlain answers who comes without TLS.
func servePlain(ctx context.Context, l net.Listener, h http.Handler, log *slog.Logger) {
	if h == nil {
		h = http.NotFoundHandler()
	}
	web := &http.Server{Handler: h, ReadHeaderTimeout: 5 * time.Second, ReadTimeout: 10 * time.Second, WriteTimeout: 10 * time.Second,
		IdleTimeout: 30 * time.Second, MaxHeaderBytes: 16 << 10, ErrorLog: slog.NewLogLogger(log.Handler(), slog.LevelDebug)}
	defer context.AfterFunc(ctx, func() { web.Close() })()
	_ = web.Serve(l) // ends with the console's own listener
}

// learn reads the log's visit events of the last weeks once: after a change of
// disk this journal does not hold them. It tries until it has succeeded.
func learn(ctx context.Context, js jetstream.JetStream, w *Writer, log *slog.Logger) {
	for {
		err := learnOnce(ctx, js, w)
		if err == nil || ctx.Err() != nil {
			return
		}
		log.Debug("the log's visit events can't be read yet", "error", err)
		select {
		case <-ctx.Done():
			return
		case <-time.After(time.Second):
		}
	}
}

func learnOnce(ctx context.Context, js jetstream.JetStream, w *Writer) error {
	subject, since := stream.Place{Studio: w.studio, Bay: "*"}.VisitsSubject(), w.now().Add(-remember)
	return stream.Scan(ctx, js, stream.Visits, subject, since, func(m *nats.Msg) error {
		ev := &event.VisitEvent{}
		// The log may have taken old events anew: what is old says when it was entered.
		if proto.Unmarshal(m.Data, ev) == nil && ev.Contract <= event.Contract && ev.RecordedUnixNs >= since.UnixNano() {
			w.Learn(ev)
		}
		return nil
	})
}
