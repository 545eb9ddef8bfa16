package collector

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"path/filepath"
	"sync"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/prometheus/client_golang/prometheus"

	"fairlead/ingest/bay/desk"
	"fairlead/ingest/bay/feed"
	"fairlead/ingest/log/copies"
	"fairlead/ingest/log/journal"
	"fairlead/ingest/log/relay"
	"fairlead/ingest/log/steady"
	"fairlead/ingest/log/stream"
)

// Feed is one device's output under its name in the configuration.
type Feed struct {
	Name   string
	Source feed.Source
}

// Options configure a bay's collector.
type Options struct {
	Place      stream.Place
	JournalDir string
	Machine    string // identity of the machine; empty: ask the system
	Feeds      []Feed
	Link       stream.Link
	Retention  time.Duration
	MinFree    int64
	Quota      stream.Quota // of the broker, which it keeps below; zero: no bound
	Version    string
	Logger     *slog.Logger
	Registry   *prometheus.Registry
	// Bench, if set, makes what the console may see and change of the bay's feeds,
	// while the collector runs.
	Bench func(Following) desk.Bench
	// Told is called with why a hub that answers is told nothing, and with nothing once
	// it is spoken to; may be nil.
	Told func(mistrust string)
	// Wall is the bay's wall clock; nil for the system's. Tests set it wrong.
	Wall func() time.Time
	// Clock does not step; without one the system's.
	Clock steady.Clock
}

// Run collects until ctx ends. It fails only when it can't begin: the journal's
// folder can't be used at all, or the credential can't be read. Trouble with a
// device, the disk, the network or the broker is reported, waited out and
// leaves the rest going.
func Run(ctx context.Context, o Options) error {
	log := o.Logger
	if log == nil {
		log = slog.New(slog.DiscardHandler)
	}
	log = log.With("bay", o.Place.Bay)
	wall := o.Wall
	if wall == nil {
		wall = time.Now
	}
	m, err := newMetrics(o.Registry)
	if err != nil {
		return fmt.Errorf("collector metrics: %w", err)
	}
	j, report, err := journal.Open(journal.Options{
		Dir: o.JournalDir, Studio: o.Place.Studio, Bay: o.Place.Bay, Machine: o.Machine, MinFree: o.MinFree, Logger: log, Now: wall,
	})
	if err != nil {
		return fmt.Errorf("collector of %s: %w", o.Place, err)
	}
	defer j.Close()
	if report.Began != "" {
		log.Info("journal begun", "journal", report.Journal, "previous", report.Previous, "reason", report.Began)
	}
	if n := report.QuarantinedRecords(); n > 0 {
		log.Error("the journal has damaged stretches; the rest is kept and sent", "entries", n)
	}
	link := o.Link
	link.Logger = log
	nc, js, err := stream.Connect(link)
	if err != nil {
		return fmt.Errorf("collector of %s: %w", o.Place, err)
	}
	defer nc.Close()

	if o.Clock.Since == nil {
		o.Clock = steady.System()
	}
	c := newClock(o.Clock, wall)
	in := &intake{journal: j, place: o.Place, clock: c, metrics: m, log: log, feeds: map[string]*feedState{}}
	in.readLooks(o.JournalDir)
	in.relearn()
	form := relay.Entries(o.Place)
	carried := relay.Metrics{Published: m.published, Errors: m.publishErrors, Repaired: m.repaired}
	p := relay.NewPublisher(j, js, form, o.JournalDir, carried)
	p.Lost, p.Pace = in.readAgain, o.Quota.Pace()
	r := relay.NewRepairer(j, js, form, carried, log)
	r.Pace = p.Pace
	visits, err := copies.Open(filepath.Join(o.JournalDir, copies.File))
	if err != nil {
		log.Error("this bay keeps no copies of its visit events", "error", err)
	} else {
		defer visits.Close()
		r.Keep = visits.Answer
	}
	if _, err := r.Subscribe(nc, o.Place); err != nil {
		return fmt.Errorf("collector of %s: %w", o.Place, err)
	}
	beats := &reporter{place: o.Place, journal: j, publisher: p, intake: in, clock: c, metrics: m, visits: visits, gatherer: o.Registry,
		retention: o.Retention, version: o.Version, log: log}

	asked := &relay.Asked{Journal: j, Form: form, Heartbeat: beats.heartbeat}
	if err := asked.Subscribe(nc, o.Place); err != nil {
		return fmt.Errorf("collector of %s: %w", o.Place, err)
	}

	var running sync.WaitGroup
	feeds := newFollowed(ctx, in, c, log)
	running.Go(feeds.run)
	if o.Bench != nil {
		if _, err := desk.Serve(nc, o.Place, o.Bench(feeds)); err != nil {
			return fmt.Errorf("collector of %s: %w", o.Place, err)
		}
	}
	running.Go(func() { c.keep(ctx, nc) })
	running.Go(func() { in.keepLooks(ctx, o.JournalDir) })
	running.Go(func() { in.fulfil(ctx, o.JournalDir) })
	running.Go(func() { scrub(ctx, j, log) })
	running.Go(func() { p.Run(ctx) })
	running.Go(func() { r.Run(ctx) })
	running.Go(func() { asked.Run(ctx) })
	running.Go(func() { beats.run(ctx, nc) })
	running.Go(func() { watchConnection(ctx, nc, m, o.Told, log) })
	for _, f := range o.Feeds {
		feeds.Put(f)
	}
	running.Wait()
	return nil
}

// runFeed runs a source and starts it again when it gives up: a device that is
// unplugged or a folder that is away comes back some day.
func runFeed(ctx context.Context, f Feed, in *intake, c *clock, log *slog.Logger) {
	// A short wait lets the first clock exchange finish, so that the lines that
	// are already there get sure times; a bay without a hub goes on without.
	for range 20 {
		if c.met() || !sleep(ctx, 50*time.Millisecond) {
			break
		}
	}
	wait := time.Second
	for ctx.Err() == nil {
		in.setStopped(f.Name, "")
		begun := time.Now()
		life, from, end := in.begin(ctx, f.Name)
		err := f.Source.Run(life, from, func(ctx context.Context, b feed.Batch) error {
			return in.take(ctx, f.Name, b)
		})
		again := life.Err() != nil
		end()
		if ctx.Err() != nil {
			return
		}
		if again {
			continue // from where what was lost can be read again
		}
		if err == nil {
			err = errors.New("the source ended")
		}
		if time.Since(begun) > time.Minute {
			wait = time.Second
		}
		in.setStopped(f.Name, err.Error())
		log.Warn("feed stopped, starting it again", "error", err, "wait", wait)
		if !sleep(ctx, wait) {
			return
		}
		wait = min(2*wait, 30*time.Second)
	}
}

func (in *intake) setStopped(name, why string) {
	in.mu.Lock()
	defer in.mu.Unlock()
	in.feed(name).stopped = why
}

func watchConnection(ctx context.Context, nc *nats.Conn, m *metrics, told func(string), log *slog.Logger) {
	said := ""
	tell := func(why string) {
		if why == said {
			return
		}
		if said = why; why != "" {
			log.Error("nothing is given to what answers at the hub's address; shots wait in the journal", "error", why)
		}
		if told != nil {
			told(why)
		}
	}
	for {
		v := 0.0
		if nc.IsConnected() {
			v = 1
			tell("")
		} else if why := stream.Mistrust(nc.LastError()); why != "" {
			tell(why)
		}
		m.connected.Set(v)
		if !sleep(ctx, time.Second) {
			return
		}
	}
}
