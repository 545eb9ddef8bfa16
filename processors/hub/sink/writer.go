package sink

import (
	"context"
	"log/slog"
	"sync"
	"time"

	"fairlead/ingest/log/stream"
	"fairlead/processors/hub/store"
)

const (
	// bulk is how many rows are worth an insert by themselves: they do not wait
	// for company.
	bulk = 1000
	// maxFlush bounds the rows of one flush.
	maxFlush = 10 * maxBatch
)

// writer gives the store what all bays of a process have for it, in one insert
// a table. A bay's order is done when its rows are on the store's disk; only
// then is it acknowledged. Whatever goes wrong, the same rows are given again,
// which changes nothing that is stored.
//
// Nobody who shows a shot waits for it: rounds are shown before they are ordered.
type writer struct {
	store   *store.Store
	log     *slog.Logger
	metrics *Metrics
	pace    pace
	news    chan struct{} // an order came

	mu      sync.Mutex
	waiting []*order
	rows    int // in them

	failed int // flushes since the last that went through
}

// order is what one bay wants written.
type order struct {
	write
	place stream.Place
	name  string // of the bay in the pulse
	pulse *Pulse
	// refused: an entry of the bay was set aside, so that what its worker holds
	// is not what is stored.
	refused bool
	done    chan error // room for one answer
}

func newWriter(s *store.Store, log *slog.Logger, m *Metrics, p pace) *writer {
	return &writer{store: s, log: log, metrics: m, pace: p, news: make(chan struct{}, 1)}
}

// save has a bay's rows written and waits until they are. The error is ctx's,
// or says that the bay has to be taken over again. Rows whose bay no longer
// waits are written all the same.
func (w *writer) save(ctx context.Context, place stream.Place, name string, pulse *Pulse, job write) error {
	o := &order{write: job, place: place, name: name, pulse: pulse, done: make(chan error, 1)}
	w.mu.Lock()
	w.waiting = append(w.waiting, o)
	w.rows += job.rows()
	w.mu.Unlock()
	signal(w.news)
	select {
	case err := <-o.done:
		return err
	case <-ctx.Done():
		return ctx.Err()
	}
}

// note has something noted that was set aside; nobody waits for it.
func (w *writer) note(a store.Aside) {
	o := &order{write: write{asides: []store.Aside{a}}, place: a.Place, done: make(chan error, 1)}
	w.mu.Lock()
	w.waiting = append(w.waiting, o)
	w.rows++
	w.mu.Unlock()
	signal(w.news)
}

// run writes until ctx ends.
func (w *writer) run(ctx context.Context) {
	retry := 100 * time.Millisecond
	for {
		if !w.await(ctx) {
			return
		}
		orders := w.take()
		err := w.flush(ctx, orders)
		if err == nil {
			retry = 100 * time.Millisecond
			continue
		}
		if ctx.Err() != nil {
			return
		}
		w.giveBack(orders)
		select {
		case <-ctx.Done():
			return
		case <-time.After(retry):
		}
		retry = min(2*retry, 5*time.Second)
	}
}

// await returns true when there are orders and it is their turn.
func (w *writer) await(ctx context.Context) bool {
	for {
		w.mu.Lock()
		some, many := len(w.waiting) > 0, w.rows >= bulk
		w.mu.Unlock()
		var turn <-chan time.Time
		if some {
			wait := w.pace.wait(time.Now())
			if many || wait == 0 {
				w.pace.take()
				return ctx.Err() == nil
			}
			turn = time.After(wait)
		}
		select {
		case <-ctx.Done():
			return false
		case <-w.news:
		case <-turn:
		}
	}
}

// take takes the orders that came first, as many as are written at a time.
func (w *writer) take() []*order {
	w.mu.Lock()
	defer w.mu.Unlock()
	n, rows := 0, 0
	for n < len(w.waiting) && rows < maxFlush {
		rows += w.waiting[n].rows()
		n++
	}
	orders := w.waiting[:n:n]
	w.waiting = append([]*order(nil), w.waiting[n:]...)
	w.rows -= rows
	return orders
}

// giveBack puts orders that were not written before those that came since.
func (w *writer) giveBack(orders []*order) {
	w.mu.Lock()
	defer w.mu.Unlock()
	for _, o := range orders {
		w.rows += o.rows()
	}
	w.waiting = append(orders, w.waiting...)
}

// flush writes orders and answers them. After an error none is answered; tables
// that took their rows are not given them again.
func (w *writer) flush(ctx context.Context, orders []*order) error {
	begun := time.Now()
	if err := w.tables(ctx, orders); err != nil {
		if ctx.Err() == nil {
			w.failed++
			w.metrics.storeErrors.Inc()
			for _, o := range orders {
				o.pulse.failed(o.name, err)
			}
			w.log.Warn("the store did not take rows; they wait", "bays", len(orders), "error", err)
		}
		return err
	}
	w.failed = 0
	w.metrics.flushSeconds.Observe(time.Since(begun).Seconds())
	for _, o := range orders {
		o.pulse.advanced(o.name)
		if o.ack != nil {
			if err := o.ack.Ack(); err != nil {
				// The log sends them again, and they are stored as before.
				w.log.Debug("stored entries were not acknowledged", "bay", o.name, "error", err)
			}
		}
		if o.refused {
			o.done <- errRefused
		} else {
			o.done <- nil
		}
	}
	return nil
}
