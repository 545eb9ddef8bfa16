// Package process is the process that serves a studio's bays: it tags and stores
// their entries, watches for gaps, keeps their health, and gives them the time.
package process

import (
	"context"
	"fmt"
	"log/slog"
	"os"
	"sync"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"
	"github.com/prometheus/client_golang/prometheus"

	"fairlead/ingest/log/steady"
	"fairlead/ingest/log/stream"
	"fairlead/processors/ask/answers"
	"fairlead/processors/ask/export"
	"fairlead/processors/hub/gap"
	"fairlead/processors/hub/health"
	"fairlead/processors/hub/sink"
	"fairlead/processors/hub/store"
)

// ConsoleBay is the name under which the console's journal of visit events
// reports and is repaired, as if it were a bay.
const ConsoleBay = stream.ConsoleBay

// nightHour is the local hour at which the fleet's declared questions are asked.
const nightHour = 3

// Options configure the process.
type Options struct {
	Conn   *nats.Conn
	JS     jetstream.JetStream
	Layout stream.Layout
	Store  *store.Store
	Bays   []stream.Place
	// Home is the hub's own studio; Studios send what they stored from elsewhere.
	Home     string
	Studios  []string
	Sign     func(text []byte) ([]byte, error) // what studios are given, as this hub; nil: it has no authority
	Pulse    *sink.Pulse                       // is told how the bays go; nil: nobody asks
	Logger   *slog.Logger
	Registry prometheus.Registerer
	// Clock is the hub's, which the bays are given and the console has too; nil:
	// one of this process alone.
	Clock *steady.Hub
}

// Run serves until ctx ends. It waits for broker and store as long as it takes.
func Run(ctx context.Context, o Options) error {
	log := o.Logger
	answered := make(chan struct{})
	go func() { defer close(answered); stream.KeepAnswered(ctx, o.Conn, stream.Shots, log) }()
	defer func() { <-answered }()
	if err := patiently(ctx, log, "the log is not ready", func() error { return stream.Declare(ctx, o.JS, o.Layout) }); err != nil {
		return nil // ctx ended
	}
	if err := patiently(ctx, log, "the store is not ready", func() error { return o.Store.Migrate(ctx) }); err != nil {
		return nil
	}
	if err := serveClock(ctx, &o); err != nil {
		return fmt.Errorf("hub: %w", err)
	}
	watch, err := gap.New(newCounter(o.Store), o.Conn, log, time.Now, o.Registry)
	if err != nil {
		return fmt.Errorf("hub: %w", err)
	}
	watch.Home = o.Home
	watch.Reach = sink.Reach{JS: o.JS}
	if _, err := watch.ServeMarks(); err != nil {
		return fmt.Errorf("hub: %w", err)
	}
	bays := health.New(o.Bays, time.Now, log)
	bays.Elsewhere(o.Studios)
	checker := newChecker(watch, log)
	office, err := newOffice(o, checker)
	if err != nil {
		return fmt.Errorf("hub: %w", err)
	}
	if err := office.listen(ctx); err != nil {
		return fmt.Errorf("hub: %w", err)
	}
	heard := func(b health.Bay) { checker.heard(ctx, b) }
	if _, err := bays.Subscribe(o.Conn, heard); err != nil {
		return fmt.Errorf("hub: %w", err)
	}
	if err := o.Registry.Register(health.NewCollector(bays)); err != nil {
		return fmt.Errorf("hub: %w", err)
	}
	renew := make(chan struct{}, 1)
	logs, err := newLogWatch(o, watch, renew)
	if err != nil {
		return fmt.Errorf("hub: %w", err)
	}
	host, _ := os.Hostname()
	owner := ownerOf(host, os.Getpid())
	self, err := newSelfAudit(o, watch, owner)
	if err != nil {
		return fmt.Errorf("hub: %w", err)
	}
	parts, err := newPartWatch(o, watch, func(context.Context) error {
		self.poke()
		select {
		case renew <- struct{}{}:
		default: // one is on its way
		}
		return nil
	})
	if err != nil {
		return fmt.Errorf("hub: %w", err)
	}
	home, err := newSecondHome(o, bays)
	if err != nil {
		return fmt.Errorf("hub: %w", err)
	}
	watching := make(chan struct{})
	go func() {
		defer close(watching)
		var all sync.WaitGroup
		all.Go(func() { logs.run(ctx) })
		all.Go(func() { askAfterBreaks(ctx, o.Conn, func() { bays.Ask(ctx, o.Conn, heard) }) })
		all.Go(func() { parts.run(ctx) })
		all.Go(func() { self.run(ctx) })
		all.Go(func() { home.run(ctx) })
		all.Go(func() { office.run(ctx) })
		all.Go(func() { describe(ctx, o.Store, log) })
		all.Wait()
	}()
	defer func() { <-watching }()
	defer checker.wait()
	night := make(chan struct{})
	defer func() { <-night }()
	go func() {
		defer close(night)
		err := answers.Run(ctx, answers.RunOptions{
			Store: o.Store, Options: answers.Options{Logger: log}, Registry: o.Registry, Hour: nightHour,
			Lease: nightLease{js: o.JS, place: stream.Place{Studio: "fleet", Bay: "night"}, owner: owner},
		})
		if err != nil {
			log.Error("the fleet's nightly questions are not asked any more", "error", err)
		}
	}()
	return sink.Run(ctx, sink.Options{
		Now: o.Clock.Now, Recount: watch.Recount, Dead: func(other string) bool { return dead(host, other) },
		Owner: owner, Conn: o.Conn, JS: o.JS, Store: o.Store, Bays: o.Bays, Home: o.Home, Studios: o.Studios, Renew: renew,
		Pulse: o.Pulse, Logger: log, Registry: o.Registry,
	})
}

// describeAfter is how long the words on columns wait: bays are served first.
const describeAfter = time.Minute

// describe writes onto every column of the store what it means. They are words for
// people: what is stored does not hang on them.
func describe(ctx context.Context, s *store.Store, log *slog.Logger) {
	select {
	case <-ctx.Done():
		return
	case <-time.After(describeAfter):
	}
	switch n, err := export.Comments(ctx, s); {
	case ctx.Err() != nil:
	case err != nil:
		log.Warn("what columns mean does not stand on all of them", "error", err)
	case n > 0:
		log.Info("what columns mean was written onto them", "columns", n)
	}
}

// patiently repeats until it succeeds; the error is ctx's.
func patiently(ctx context.Context, log *slog.Logger, what string, do func() error) error {
	said := time.Time{}
	for {
		err := do()
		if err == nil {
			return nil
		}
		if ctx.Err() != nil {
			return ctx.Err()
		}
		if time.Since(said) > 30*time.Second {
			log.Warn(what+", waiting", "error", err)
			said = time.Now()
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-time.After(300 * time.Millisecond):
		}
	}
}

// countsAtOnce bounds the counts that run at a time: when forty studios' heartbeats come
// together, who writes rows must not wait behind all of them for a connection.
const countsAtOnce = 3

// counter counts entries of bays and visit events of the console.
type counter struct {
	store *store.Store
	turns chan struct{}
}

func newCounter(s *store.Store) counter { return counter{s, make(chan struct{}, countsAtOnce)} }

// turn waits until a count may run.
func (c counter) turn(ctx context.Context) (end func(), err error) {
	select {
	case c.turns <- struct{}{}:
		return func() { <-c.turns }, nil
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}

func (c counter) Stored(ctx context.Context, place stream.Place, journal string, above uint64) (gap.Ranges, error) {
	end, err := c.turn(ctx)
	if err != nil {
		return nil, err
	}
	defer end()
	if place.Bay == ConsoleBay {
		return c.store.StoredEvents(ctx, place.Studio, journal, above)
	}
	return c.store.Stored(ctx, place, journal, above)
}

func (c counter) Floor(ctx context.Context, place stream.Place, journal string) (uint64, error) {
	end, err := c.turn(ctx)
	if err != nil {
		return 0, err
	}
	defer end()
	floors, err := c.store.Floors(ctx, place)
	return floors[journal].Below, err
}
