package process

import (
	"context"
	"fmt"
	"log/slog"
	"time"

	"github.com/prometheus/client_golang/prometheus"

	"fairlead/processors/hub/gap"
	"fairlead/processors/hub/store"
)

const (
	// signsEvery is how often the store is asked whether anybody met damage.
	signsEvery = 2 * time.Second
	// checkPause bounds how often all parts are read because of signs.
	checkPause = 20 * time.Second
	// scrubFirst and scrubEvery are when all parts are read without any sign: bits
	// flip in what nobody asks for, too.
	scrubFirst = 10 * time.Minute
	scrubEvery = 7 * 24 * time.Hour
)

// partWatch finds parts of the store that can't be read as they were written,
// sets them aside, and has what they held come again: entries and visit events
// from the journals, rows that are computed from those anew. Until then
// questions that meet the part fail, and bays wait.
type partWatch struct {
	store *store.Store
	gaps  *gap.Watch
	log   *slog.Logger
	// mend has rows computed anew that no journal holds.
	mend func(ctx context.Context) error

	damaged  *prometheus.CounterVec // table
	lost     *prometheus.CounterVec // table
	detached prometheus.Gauge
	scrubbed prometheus.Gauge

	signs    uint64    // that were looked into
	gone     uint64    // detached parts that are known
	checked  time.Time // when all parts were last read
	scrub    time.Time // when to read them again without a sign
	unmended bool
}

func newPartWatch(o Options, gaps *gap.Watch, mend func(context.Context) error) (*partWatch, error) {
	counter := func(name, help string) *prometheus.CounterVec {
		return prometheus.NewCounterVec(prometheus.CounterOpts{Namespace: "fairlead", Subsystem: "store", Name: name, Help: help},
			[]string{"table"})
	}
	gauge := func(name, help string) prometheus.Gauge {
		return prometheus.NewGauge(prometheus.GaugeOpts{Namespace: "fairlead", Subsystem: "store", Name: name, Help: help})
	}
	w := &partWatch{
		store: o.Store, gaps: gaps, log: o.Logger, mend: mend, scrub: time.Now().Add(scrubFirst),
		damaged: counter("damaged_parts_total", "Parts of a table that could not be read as they were written, and were set aside."),
		lost:    counter("damaged_rows_total", "Rows of such parts that could not be read, and have to come again."),
		detached: gauge("detached_parts", "Parts that were set aside, by this process or by the store at its start, and are still on the disk: "+
			"look at the disk, and drop them once the audit is clean."),
		scrubbed: gauge("scrubbed_timestamp_seconds", "When all parts were last read through, Unix time; 0: not since this process began."),
	}
	for _, c := range []prometheus.Collector{w.damaged, w.lost, w.detached, w.scrubbed} {
		if err := o.Registry.Register(c); err != nil {
			return nil, fmt.Errorf("part watch metrics: %w", err)
		}
	}
	return w, nil
}

// run watches until ctx ends.
func (w *partWatch) run(ctx context.Context) {
	for {
		if err := w.look(ctx); err != nil && ctx.Err() == nil {
			w.log.Debug("the store's parts can't be looked at", "error", err)
		}
		select {
		case <-ctx.Done():
			return
		case <-time.After(signsEvery):
		}
	}
}

func (w *partWatch) look(ctx context.Context) error {
	signs, err := w.store.Signs(ctx)
	if err != nil {
		return err
	}
	gone, err := w.store.Detached(ctx)
	if err != nil {
		return err
	}
	w.detached.Set(float64(gone))
	if gone > w.gone {
		w.log.Error("parts of the store were set aside: what they held comes again from the journals", "parts", gone)
		w.refill()
	}
	w.gone = gone
	if signs < w.signs { // the store began anew
		w.signs = 0
	}
	now := time.Now()
	if signs > w.signs && now.Sub(w.checked) > checkPause || now.After(w.scrub) {
		w.checked = now
		if err := w.check(ctx); err != nil {
			return err
		}
		w.signs, w.scrub = signs, now.Add(scrubEvery)
		w.scrubbed.Set(float64(now.Unix()))
	}
	if w.unmended {
		if err := w.mend(ctx); err != nil {
			return err
		}
		w.unmended = false
	}
	return nil
}

// check reads all parts, and sets the damaged ones aside.
func (w *partWatch) check(ctx context.Context) error {
	found, err := w.store.Damaged(ctx)
	for i := range found {
		d := &found[i]
		if err := w.store.SetAside(ctx, d); err != nil {
			w.log.Error("a part of the store is damaged and can't be set aside", "table", d.Table, "part", d.Part, "found", d.Why, "error", err)
			return err
		}
		w.log.Error("a part of the store was damaged and is set aside: look at the disk; what can't be read of it comes again",
			"table", d.Table, "part", d.Part, "rows", d.Rows, "saved", d.Saved, "found", d.Why)
		w.damaged.WithLabelValues(d.Table).Inc()
		w.lost.WithLabelValues(d.Table).Add(float64(d.Rows - d.Saved))
		w.gone++
	}
	if len(found) > 0 {
		w.refill()
	}
	return err
}

// refill has everything counted and computed anew.
func (w *partWatch) refill() {
	w.gaps.Recount()
	w.unmended = true
}
