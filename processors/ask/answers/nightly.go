package answers

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/prometheus/client_golang/prometheus"

	"github.com/ClickHouse/clickhouse-go/v2"

	"fairlead/processors/golf/fleet"
	"fairlead/processors/golf/flight"
	"fairlead/processors/hub/store"
	"fairlead/processors/hub/store/question"
)

// Nightly refreshes the snapshot and answers the declared grid. A question that
// fails is reported and does not keep the others from being asked. It returns
// how many were answered anew.
func (f *Fleet) Nightly(ctx context.Context) (int, error) {
	mark, err := f.Refresh(ctx)
	if err != nil {
		return 0, err
	}
	questions, err := f.Grid(ctx, mark)
	if err != nil {
		return 0, err
	}
	done := 0
	var failed []error
	for _, q := range questions {
		if ctx.Err() != nil {
			return done, ctx.Err()
		}
		// The grid is asked of one snapshot, whatever arrives meanwhile.
		s, err := f.askOf(ctx, mark, q, Asking{})
		if err != nil {
			failed = append(failed, fmt.Errorf("%s of %s, %s: %w", q.Outcome, q.Filter.Category, q.Label(), err))
			continue
		}
		if !s.kept {
			done++
		}
	}
	if err := errors.Join(failed...); err != nil {
		return done, err
	}
	return done, f.keep(ctx, &Stored{ID: nightRow, QuestionHash: nightRow, Kind: nightRow, Model: fleet.Version, Mark: mark,
		Asked: f.now().UTC()})
}

// nightRow names the row that says when the grid was last asked in full.
const nightRow = "night"

// lastNight is the mark of the last night that succeeded, made when it ended, and the
// model that answered; the zero mark if there was none.
func (f *Fleet) lastNight(ctx context.Context) (m Mark, model string, err error) {
	err = f.store.Conn().QueryRow(ctx, question.Night(), clickhouse.Named("kind", nightRow)).Scan(&m.Made, &m.Inserted, &m.Version, &m.Flight,
		&m.Joins, &model)
	if err != nil {
		return m, "", fmt.Errorf("last night's run: %w", err)
	}
	return m, model, nil
}

// upgraded says whether the last night's answers are of another model than the program's,
// so that no bay may judge by them any more, and all trials are there again: what
// another flight model made is computed anew first.
func (f *Fleet) upgraded(ctx context.Context, last Mark, model string) (bool, error) {
	if last.Made.Unix() <= 0 || last.Flight == flight.Stamp() && model == fleet.Version {
		return false, nil
	}
	var outdated uint64
	if err := f.store.Conn().QueryRow(ctx, question.OutdatedTrials()).Scan(&outdated); err != nil {
		return false, fmt.Errorf("trials of another flight model: %w", err)
	}
	return outdated == 0, nil
}

// Lease lets one of several processes do a thing. Hold returns a context that
// ends when the lease is lost, or ok false while another process has it.
type Lease interface {
	Hold(ctx context.Context) (held context.Context, release func(), ok bool)
}

// alone is the lease of a process that has no others beside it.
type alone struct{}

func (alone) Hold(ctx context.Context) (context.Context, func(), bool) { return ctx, func() {}, true }

// RunOptions say how Run goes about the night's work.
type RunOptions struct {
	Store    *store.Store
	Options  Options
	Registry prometheus.Registerer // nil: no metrics
	// Hour of the day, in Location, at which the grid is asked; before it, Run
	// asks once at its start if nothing was answered for a day.
	Hour     int
	Location *time.Location // nil: local time
	Lease    Lease          // nil: no other process asks this store
	Check    time.Duration  // how often it looks at the clock; 0: five minutes
}

// Run asks the grid once a night until ctx ends. It returns nil then; a night
// that fails is logged and tried again at the next look.
func Run(ctx context.Context, o RunOptions) error {
	f := New(o.Store, o.Options)
	if o.Location == nil {
		o.Location = time.Local
	}
	if o.Lease == nil {
		o.Lease = alone{}
	}
	if o.Check == 0 {
		o.Check = 5 * time.Minute
	}
	m := newNightMetrics(o.Registry)
	tick := time.NewTicker(o.Check)
	defer tick.Stop()
	for {
		if err := f.night(ctx, o, m); err != nil && ctx.Err() == nil {
			m.failed.Inc()
			f.log.Error("the night's questions to the fleet failed", "error", err)
		}
		select {
		case <-ctx.Done():
			return nil
		case <-tick.C:
		}
	}
}

// night asks the grid if it is due, or its answers went with an upgrade, and no other
// process does.
func (f *Fleet) night(ctx context.Context, o RunOptions, m *nightMetrics) error {
	held, release, ok := o.Lease.Hold(ctx)
	if !ok {
		return nil
	}
	defer release()
	last, model, err := f.lastNight(held)
	if err != nil {
		return err
	}
	newer, err := f.upgraded(held, last, model)
	if err != nil {
		return err
	}
	if !newer && !due(f.now().In(o.Location), last.Made, o.Hour) {
		return nil
	}
	now, err := f.Current(held)
	if err != nil {
		return err
	}
	if last.sameData(now) && model == fleet.Version || now.Version == 0 && now.Inserted.Unix() <= 0 {
		return nil // nothing new to ask about
	}
	begun := f.now()
	n, err := f.Nightly(held)
	m.answered.Add(float64(n))
	m.seconds.Set(f.now().Sub(begun).Seconds())
	f.log.Info("asked the fleet", "answered", n, "seconds", f.now().Sub(begun).Seconds())
	return err
}

// due says whether a run is wanted: the last one was before the newest passing
// of the hour.
func due(now, last time.Time, hour int) bool {
	at := time.Date(now.Year(), now.Month(), now.Day(), hour, 0, 0, 0, now.Location())
	if at.After(now) {
		at = at.AddDate(0, 0, -1)
	}
	return last.Before(at)
}

type nightMetrics struct {
	answered, failed prometheus.Counter
	seconds          prometheus.Gauge
}

func newNightMetrics(r prometheus.Registerer) *nightMetrics {
	m := &nightMetrics{
		answered: prometheus.NewCounter(prometheus.CounterOpts{Name: "fairlead_fleet_answers_total",
			Help: "Questions to the fleet that were answered anew by the night's run."}),
		failed: prometheus.NewCounter(prometheus.CounterOpts{Name: "fairlead_fleet_nights_failed_total",
			Help: "Nights whose run failed, in part or whole."}),
		seconds: prometheus.NewGauge(prometheus.GaugeOpts{Name: "fairlead_fleet_night_seconds", Help: "How long the last night's run took."}),
	}
	if r != nil {
		r.MustRegister(m.answered, m.failed, m.seconds)
	}
	return m
}
