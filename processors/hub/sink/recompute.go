package sink

import (
	"context"
	"log/slog"
	"math"

	"github.com/prometheus/client_golang/prometheus"

	"fairlead/ingest/log/stream"
	"fairlead/processors/hub/store"
)

// Rows are what a bay's tables say of some of its shots.
type Rows struct {
	Entries  []store.EntryRow
	Trials   []store.TrialRow
	Verdicts []store.VerdictRow
}

// recomputeAtOnce bounds the entries of one piece of Recompute, but for what
// shares a session with them.
const recomputeAtOnce = 20_000

// Recompute computes every row of a bay anew from the entries and events that
// the store holds, as a worker that never saw it would, and gives them in
// pieces. It writes nothing. A row may be given more than once; the last is
// computed from the most.
func Recompute(ctx context.Context, s *store.Store, place stream.Place, log *slog.Logger, give func(Rows) error) error {
	m, err := NewMetrics(prometheus.NewRegistry())
	if err != nil {
		return err
	}
	w, err := newWorker(ctx, place, place.Bay, s, nil, log, m, nil)
	if err != nil {
		return err
	}
	w.forgetBefore(math.MaxInt64)
	if err := give(Rows{Verdicts: w.verdicts("")}); err != nil {
		return err
	}
	cuts, err := s.TimeCuts(ctx, place, recomputeAtOnce)
	if err != nil {
		return err
	}
	from := int64(math.MinInt64)
	for _, to := range append(cuts, math.MaxInt64) {
		changes, err := w.bay.Refresh(ctx, from, to)
		if err != nil {
			return err
		}
		if err := w.settle(ctx, changes, nil, nil); err != nil {
			return err
		}
		if err := w.hand(give); err != nil {
			return err
		}
		w.forgetBefore(to)
		from = to
	}
	return nil
}

// hand gives on what waits for the store, instead of storing it.
func (w *Worker) hand(give func(Rows) error) error {
	for len(w.queue) > 0 {
		job := w.next()
		if err := give(Rows{Entries: latest(job.entries, keyOfEntry), Trials: job.trials}); err != nil {
			return err
		}
	}
	return nil
}
