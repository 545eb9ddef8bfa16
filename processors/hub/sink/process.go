package sink

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"slices"
	"sync"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"
	"github.com/prometheus/client_golang/prometheus"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/stream"
	"fairlead/processors/hub/store"
)

// Options configure a tagging process.
type Options struct {
	Owner string // name of this process in the leases; unique among those that run
	Conn  *nats.Conn
	JS    jetstream.JetStream
	Store *store.Store
	// Dead says of an owner that it has ended for sure, so that its leases need not
	// run out; nil: nothing is known of others.
	Dead func(owner string) bool
	// Bays to serve. Others that appear in the log are counted and said, and
	// served only where none are named: who can write to the log can invent any
	// number of bays.
	Bays []stream.Place
	// Home is the studio whose bays go by their names alone; empty: every bay does.
	Home string
	// Studios send what they stored from elsewhere: their bays are served as they
	// appear in the log, up to MostBays of each.
	Studios []string
	// Renew makes all bays be taken over anew, for a log that is not what it was.
	Renew <-chan struct{}
	// Recount is called when rows were taken out that journals may hold; nil: nobody counts.
	Recount  func()
	Now      func() time.Time // the hub's clock; nil: the machine's
	Pulse    *Pulse           // is told how the bays go; nil: nobody asks
	Logger   *slog.Logger
	Registry prometheus.Registerer

	pace *pace // of the store's inserts; nil: the usual one
}

// Process tags and stores the bays it can get the lease of.
type Process struct {
	owner   string
	nc      *nats.Conn
	js      jetstream.JetStream
	store   *store.Store
	log     *slog.Logger
	metrics *Metrics
	pulse   *Pulse
	now     func() time.Time
	out     *writer // for all bays
	running sync.WaitGroup

	dead func(owner string) bool
	home string

	mu      sync.Mutex
	owned   map[stream.Place]context.CancelCauseFunc
	gone    map[stream.Place]bool // lost, or given to another process
	bays    int                   // that are to be served
	members int                   // processes that share them
}

// Run serves bays until ctx ends.
func Run(ctx context.Context, o Options) error {
	log := o.Logger
	if log == nil {
		log = slog.New(slog.DiscardHandler)
	}
	m, err := NewMetrics(o.Registry)
	if err != nil {
		return fmt.Errorf("process metrics: %w", err)
	}
	p := &Process{owner: o.Owner, nc: o.Conn, js: o.JS, store: o.Store, log: log, metrics: m, pulse: o.Pulse,
		owned: map[stream.Place]context.CancelCauseFunc{}, gone: map[stream.Place]bool{}, dead: o.Dead, home: o.Home}
	if p.now = o.Now; p.now == nil {
		p.now = time.Now
	}
	usual := usualPace()
	if o.pace == nil {
		o.pace = &usual
	}
	p.out = newWriter(o.Store, log, m, *o.pace)
	p.running.Go(func() { p.out.run(ctx) })
	met := p.hearUnreadable()
	p.running.Go(func() { p.takeOut(ctx, met, o.Recount) })
	known := map[stream.Place]bool{}
	start := func(place stream.Place) {
		if !known[place] {
			known[place] = true
			p.known(len(known))
			p.running.Go(func() { p.serve(ctx, place) })
		}
	}
	p.known(len(o.Bays))
	p.running.Go(func() { p.share(ctx) })
	for _, place := range o.Bays {
		start(place)
	}
	for {
		unknown := 0
		for _, place := range p.placesInLog(ctx) {
			switch {
			case len(o.Bays) == 0 && len(o.Studios) == 0, o.admits(place, known):
				start(place)
			case !known[place] && place != (stream.Place{}):
				unknown++
				if _, ok := m.said.again("unknown bays", time.Now()); ok {
					log.Warn("the log holds what no bay of the configuration sent: add the bay to the configuration, or revoke its key", "subject",
						place.ShotsSubject())
				}
			}
		}
		m.unknown.Set(float64(unknown))
		select {
		case <-ctx.Done():
			p.running.Wait()
			return nil
		case <-o.Renew:
			p.renew()
		case <-time.After(10 * time.Second):
		}
	}
}

// MostBays of a studio that sends from elsewhere are served: who has its key could
// invent any number.
const MostBays = 64

// admits says whether a bay of the log is one of a studio that sends from elsewhere.
func (o *Options) admits(place stream.Place, known map[stream.Place]bool) bool {
	if !slices.Contains(o.Studios, place.Studio) || event.CheckName("bay", place.Bay) != nil {
		return false
	}
	n := 0
	for p := range known {
		if p.Studio == place.Studio {
			n++
		}
	}
	return known[place] || n < MostBays
}

// own notes how to end the work on a bay; renew ends it for all of them. The work's
// context says whether the bay went to another process.
func (p *Process) own(ctx context.Context, place stream.Place, cancel context.CancelCauseFunc) (disown func()) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.owned[place] = cancel
	returned := p.metrics.returned.WithLabelValues(place.In(p.home)) // shown from 0 on, or the first one is no increase
	if p.gone[place] {
		delete(p.gone, place)
		returned.Inc()
	}
	return func() {
		p.mu.Lock()
		defer p.mu.Unlock()
		delete(p.owned, place)
		if why := context.Cause(ctx); errors.Is(why, errShared) || errors.Is(why, stream.ErrLost) {
			p.gone[place] = true
		}
	}
}

func (p *Process) renew() {
	p.mu.Lock()
	defer p.mu.Unlock()
	for _, cancel := range p.owned {
		cancel(errRenewed)
	}
}

// serve runs a bay, and again after whatever stopped it.
func (p *Process) serve(ctx context.Context, place stream.Place) {
	said, saidAt := "", time.Time{}
	for ctx.Err() == nil {
		err := errShared
		if p.room() {
			err = p.runBay(ctx, place)
		}
		wait := 500 * time.Millisecond
		switch {
		case ctx.Err() != nil:
			return
		case errors.Is(err, stream.ErrLeased), errors.Is(err, errShared):
			p.pulse.left(place.In(p.home))
		default:
			p.pulse.gaveUp(place.In(p.home), err)
			if text := fmt.Sprint(err); text != said || time.Since(saidAt) > 10*time.Second {
				p.log.Warn("bay given up, taking it over again", "bay", place.In(p.home), "error", err)
				said, saidAt = text, time.Now()
			}
			wait = 300 * time.Millisecond
		}
		select {
		case <-ctx.Done():
		case <-time.After(wait):
		}
	}
}

// placesInLog lists the bays that the log holds entries or events of.
func (p *Process) placesInLog(ctx context.Context) (places []stream.Place) {
	for _, name := range []string{stream.Shots, stream.Visits} {
		ctx, cancel := context.WithTimeout(ctx, 3*time.Second)
		s, err := p.js.Stream(ctx, name)
		if err == nil {
			var info *jetstream.StreamInfo
			if info, err = s.Info(ctx, jetstream.WithSubjectFilter(">")); err == nil {
				for subject := range info.State.Subjects {
					if place, ok := stream.PlaceOf(subject); ok {
						places = append(places, place)
					}
				}
			}
		}
		cancel()
		if err != nil && ctx.Err() == nil {
			p.log.Debug("the log's bays can't be listed", "stream", name, "error", err)
		}
	}
	return places
}
