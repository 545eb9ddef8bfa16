package sink

import (
	"context"
	"errors"
	"time"

	"github.com/nats-io/nats.go/jetstream"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/stream"
)

// runBay owns a bay as long as the lease lasts. It returns ErrLeased when
// another owner has the bay, and otherwise why it had to stop.
func (p *Process) runBay(ctx context.Context, place stream.Place) error {
	lease, err := stream.Inherit(ctx, p.js, place, p.owner, p.dead)
	if err != nil {
		return err
	}
	held, release := lease.Keep(ctx)
	defer release()
	ctx, cancel := context.WithCancelCause(held)
	defer cancel(nil)
	defer p.own(ctx, place, cancel)()
	name := place.In(p.home)
	log := p.log.With("bay", name)
	log.Info("bay taken over")
	p.pulse.taking(name)
	p.metrics.owned.Inc()
	defer p.metrics.owned.Dec()
	defer p.metrics.forget(name)

	// The consumer comes first: from here on everything that is not acknowledged
	// comes to us, and all that was acknowledged before is in the store that the
	// worker loads from.
	consumer, err := consumerOf(ctx, p.js, place, p.owner)
	if err != nil {
		return err
	}
	events, more, err := eventsOf(ctx, p.js, place, func(why string, m jetstream.Msg) {
		p.metrics.setAside(log, why, m.Subject())
		p.out.note(notedMessage(m, stream.Visits, place, why))
	})
	if err != nil {
		return err
	}
	abroad, err := abroadOf(ctx, p.js, place.Studio)
	if err != nil {
		return err
	}
	l := newLive(p.nc, place, log)
	w, err := newWorker(ctx, place, name, p.store, events, log, p.metrics, l)
	if err != nil {
		return err
	}
	p.running.Go(func() { l.run(ctx) })
	shots := newInbox()
	var came tap
	p.running.Go(func() { cancel(pump(ctx, consumer, place, shots, &came)) })
	w.pulse, w.now, w.out = p.pulse, p.now, p.out
	w.facts.answered = w.works
	if err := w.differing(ctx); err != nil {
		return err
	}
	err = w.run(ctx, shots, more, abroad, p.lag(consumer, place, &came, cancel))
	if cause := context.Cause(ctx); cause != nil && !errors.Is(cause, context.Canceled) {
		err = cause
	}
	return err
}

// lag returns a function that sets the gauge of what the log holds beyond us.
// It returns the number too, the last one known while the log does not say. What
// the log gave and we never got ends the bay: it is taken over anew.
func (p *Process) lag(c jetstream.Consumer, place stream.Place, came *tap, end context.CancelCauseFunc) func(context.Context) int {
	gauge := p.metrics.lag.WithLabelValues(place.In(p.home))
	last := 0
	return func(ctx context.Context) int {
		ctx, cancel := context.WithTimeout(ctx, time.Second)
		defer cancel()
		if info, err := c.Info(ctx); err == nil {
			last = int(info.NumPending) + info.NumAckPending
			gauge.Set(float64(last))
			if came.lost(info.Delivered.Consumer, time.Now()) {
				end(errUndelivered)
			}
		}
		return last
	}
}

// run is the worker's loop. Entries and events are tagged and shown at once;
// the store follows in its own goroutine, and what it has taken is
// acknowledged. Trouble with the store holds entries back, never drops them.
func (w *Worker) run(ctx context.Context, shots *inbox, events <-chan *event.VisitEvent, abroad <-chan []*event.VisitEvent,
	lag func(context.Context) int) error {
	ctx, cancel := context.WithCancel(ctx)
	jobs := make(chan write)
	done := make(chan error)
	go func() {
		defer close(done)
		for job := range jobs {
			done <- w.out.save(ctx, w.place, w.name, w.pulse, job)
		}
	}()
	var saving []*card // whose lines are being stored
	var rest rest
	defer rest.end()
	busy := false // one job at a time: two were measured, and took each other's processor
	defer func() {
		cancel()
		close(jobs)
		for range done { // a save under way ends with ctx
		}
	}()
	tidy := time.NewTicker(10 * time.Minute)
	defer tidy.Stop()
	measure := time.NewTicker(2 * time.Second)
	defer measure.Stop()
	retry := time.NewTimer(0)
	defer retry.Stop()
	late := time.NewTimer(lateAfter)
	defer late.Stop()
	var heldEvents []*event.VisitEvent
	for {
		if !busy && len(w.queue) > 0 {
			job := w.next()
			busy, saving = true, job.cards
			select {
			case jobs <- job:
			case <-ctx.Done():
				return ctx.Err()
			}
		}
		// A round that failed is tried again; meanwhile nothing more is taken.
		intake, news := shots.ready, events
		if len(w.pending) > 0 || len(heldEvents) > 0 {
			intake, news = nil, nil
		}
		if w.queued > maxQueued || rest.lasts() {
			intake = nil
		}
		if w.full() && len(w.undone)+len(w.stale) == 0 {
			if busy || len(w.queue) > 0 {
				intake = nil // nothing is forgotten that is not stored yet
			} else {
				w.forget(w.now())
			}
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case err := <-done:
			busy = false
			if err != nil {
				return err
			}
			w.stored(saving)
			saving = nil
		case <-intake:
			w.pending = shots.gather(w.pending)
			retry.Reset(0)
		case ev, ok := <-news:
			if !ok {
				return errors.New("the visit events ended")
			}
			heldEvents = append(heldEvents, ev)
			for more := true; more; {
				select {
				case ev, ok := <-events:
					if more = ok; ok {
						heldEvents = append(heldEvents, ev)
					}
				default:
					more = false
				}
			}
			retry.Reset(0)
		case <-retry.C:
			begun, entries := time.Now(), len(w.pending)
			if err := w.round(ctx, &heldEvents); err != nil {
				if ctx.Err() != nil {
					return ctx.Err()
				}
				w.metrics.storeErrors.Inc()
				w.pulse.failed(w.name, err)
				w.log.Warn("entries wait to be tagged", "entries", len(w.pending), "events", len(heldEvents), "error", err)
				retry.Reset(500 * time.Millisecond)
			} else {
				w.pulse.advanced(w.name)
				rest.after(time.Since(begun), entries, w.bay.Held())
			}
		case <-rest.over():
			rest.end()
		case piece, ok := <-abroad:
			if !ok {
				abroad = nil
			}
			w.rejudge(w.takeAbroad(piece))
		case <-tidy.C:
			if !busy {
				w.forget(w.now())
			}
		case <-late.C:
			short, cancel := context.WithTimeout(ctx, compareWithin/6)
			err := w.late(short)
			cancel()
			if errors.Is(err, errLate) {
				return err
			}
			if err != nil {
				late.Reset(lateAfter)
			}
		case <-measure.C:
			w.metrics.queued.WithLabelValues(w.name).Set(float64(w.queued))
			w.pulse.turned(w.name, lag(ctx)+w.queued+len(w.pending)+len(heldEvents))
		}
	}
}

// round applies what was taken: events first, for they say whose the entries are.
func (w *Worker) round(ctx context.Context, events *[]*event.VisitEvent) error {
	if len(*events) > 0 {
		if err := w.takeEvents(ctx, *events); err != nil {
			return err
		}
		*events = nil
	}
	if len(w.pending) > 0 {
		if err := w.takeShots(ctx, w.pending); err != nil {
			return err
		}
		w.metrics.consumed.Add(float64(len(w.pending)))
		clear(w.pending)
		w.pending = w.pending[:0]
	}
	return nil
}
