package watch

import (
	"context"
	"fmt"
	"log/slog"
	"sync"
	"time"

	"github.com/prometheus/client_golang/prometheus"

	"fairlead/ingest/log/durable"
	"fairlead/processors/hub/health"
)

const (
	lookEvery = 2 * time.Second
	// keepEvery is how often the file is written while nothing changes: whoever
	// reads it sees that the watch runs.
	keepEvery = 10 * time.Second
	// againAfter is how long a sender rests that could not tell.
	againAfter = 30 * time.Second
	sendWithin = 30 * time.Second
)

// Sender brings a message to people.
type Sender interface {
	Name() string
	Send(context.Context, Message) error
}

// Options of a watch.
type Options struct {
	Studio  string
	File    string // of the state
	Days    string // file of how bays were on each day; empty: none is kept
	Look    func(context.Context) []Alarm
	Heard   func() map[string]time.Time // when each bay was heard last; nil: nobody listens
	Senders []Sender
	Quiet   Hours
	Now     func() time.Time // people's clock, in the studio's zone
	Logger  *slog.Logger
	// Every is how often it looks; 0: each two seconds.
	Every    time.Duration
	Registry prometheus.Registerer
}

// Watch looks, remembers and tells.
type Watch struct {
	o      Options
	failed *prometheus.CounterVec
	untold *prometheus.GaugeVec
	alarms *prometheus.GaugeVec

	mu    sync.Mutex
	state State
	next  map[string]time.Time // of senders that failed
	busy  map[string]bool
	kept  time.Time // when the file was written last
	begun time.Time

	days     Days
	looked   time.Time // in this run; zero: not yet
	daysKept time.Time
}

// New makes a watch that goes on where the file says the last one was.
func New(o Options) (*Watch, error) {
	if o.Every == 0 {
		o.Every = lookEvery
	}
	w := &Watch{
		o: o, next: map[string]time.Time{}, busy: map[string]bool{},
		failed: prometheus.NewCounterVec(prometheus.CounterOpts{Namespace: "fairlead", Subsystem: "watch", Name: "messages_failed_total",
			Help: "Messages to people that did not get out, by sender; they are tried again."}, []string{"sender"}),
		untold: prometheus.NewGaugeVec(prometheus.GaugeOpts{Namespace: "fairlead", Subsystem: "watch", Name: "untold_alarms",
			Help: "Alarms that a sender has to tell and has not yet."}, []string{"sender"}),
		alarms: prometheus.NewGaugeVec(prometheus.GaugeOpts{Namespace: "fairlead", Subsystem: "watch", Name: "alarms",
			Help: "Alarms that last now, by severity."}, []string{"severity"}),
	}
	for _, c := range []prometheus.Collector{w.failed, w.untold, w.alarms} {
		if err := o.Registry.Register(c); err != nil {
			return nil, fmt.Errorf("watch metrics: %w", err)
		}
	}
	state, err := Read(o.File)
	if err != nil {
		o.Logger.Warn("the watch begins anew", "error", err)
	}
	state.Studio = o.Studio
	w.state, w.begun = state, o.Now()
	if o.Days != "" {
		if w.days, err = ReadDays(o.Days); err != nil {
			o.Logger.Warn("bays' days begin anew", "error", err)
		}
	}
	return w, nil
}

// Run watches until ctx ends.
func (w *Watch) Run(ctx context.Context) {
	var sending sync.WaitGroup
	defer sending.Wait()
	defer w.keepDays()
	tick := time.NewTicker(w.o.Every)
	defer tick.Stop()
	for {
		w.look(ctx)
		for _, s := range w.o.Senders {
			w.tell(ctx, s, &sending)
		}
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
	}
}

func (w *Watch) look(ctx context.Context) {
	found := w.o.Look(ctx)
	if ctx.Err() != nil {
		return
	}
	w.mu.Lock()
	defer w.mu.Unlock()
	before := map[key]bool{}
	for _, k := range w.state.Lasting() {
		before[k.key()] = true
	}
	now := w.o.Now()
	if now.Sub(w.begun) < health.SilentAfter+comingTakes {
		found = w.state.holds(found, w.begun)
	}
	w.state.Take(found, now)
	if w.o.Heard != nil && w.days != nil {
		w.days.take(&w.state, w.o.Heard(), now, now.Sub(w.looked))
		if w.looked = now; now.Sub(w.daysKept) >= daysEvery {
			w.keepDays()
		}
	}
	changed := false
	count := map[Severity]int{Critical: 0, Warning: 0}
	for _, k := range w.state.Lasting() {
		count[k.Severity]++
		if !before[k.key()] {
			changed = true
			w.o.Logger.Warn("something is wrong", "where", k.Where, "what", k.What, "text", k.Text)
		}
		delete(before, k.key())
	}
	for k := range before {
		w.o.Logger.Info("it is over", "where", k.where, "what", k.what)
	}
	for severity, n := range count {
		w.alarms.WithLabelValues(string(severity)).Set(float64(n))
	}
	if changed || len(before) > 0 || now.Sub(w.kept) >= keepEvery {
		w.keep()
	}
}

// keep writes the file; who can't write goes on watching and telling.
func (w *Watch) keep() {
	w.kept = w.o.Now()
	if w.o.Heard != nil {
		w.state.Heard = w.o.Heard()
	}
	if err := w.state.Write(w.o.File); err != nil {
		w.o.Logger.Debug("what is wrong could not be written down", "error", err)
	}
}

// keepDays writes the days' file; a disk without room for it costs that much of a day's record.
func (w *Watch) keepDays() {
	if w.days == nil {
		return
	}
	w.daysKept = w.o.Now()
	if err := durable.WriteJSON(w.o.Days, w.days); err != nil {
		w.o.Logger.Debug("how bays were today could not be written down", "error", err)
	}
}

// tell has a sender say what it has not said yet, beside the looking: a mail
// server that does not answer must not stop the watch.
func (w *Watch) tell(ctx context.Context, s Sender, sending *sync.WaitGroup) {
	w.mu.Lock()
	defer w.mu.Unlock()
	now := w.o.Now()
	m := w.state.For(s.Name(), now, w.o.Quiet.Hold(now))
	w.untold.WithLabelValues(s.Name()).Set(float64(len(m.Began)))
	if m.Empty() || w.busy[s.Name()] || now.Before(w.next[s.Name()]) {
		return
	}
	w.busy[s.Name()] = true
	sending.Go(func() {
		short, cancel := context.WithTimeout(ctx, sendWithin)
		err := s.Send(short, m)
		cancel()
		w.mu.Lock()
		defer w.mu.Unlock()
		w.busy[s.Name()] = false
		if err != nil {
			w.failed.WithLabelValues(s.Name()).Inc()
			w.next[s.Name()] = w.o.Now().Add(againAfter)
			w.o.Logger.Warn("people could not be told, it is tried again", "sender", s.Name(), "error", err)
			return
		}
		w.state.Told(s.Name(), m)
		w.keep()
	})
}
