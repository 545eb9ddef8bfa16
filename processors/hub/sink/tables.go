package sink

import (
	"context"
	"errors"
	"fmt"
	"time"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/stream"
	"fairlead/processors/hub/store"
)

// errRefused has a bay taken over again: its worker holds a shot as the bay
// wrote it, and the store has a rejected one in its place.
var errRefused = errors.New("the store refused an entry of the bay, which is set aside; its state is read again")

// tables writes the rows of orders table by table: events first, for rows of
// entries say what follows from them. What a table has taken leaves the orders.
func (w *writer) tables(ctx context.Context, orders []*order) error {
	now := time.Now().UnixNano
	err := put(ctx, w, orders, table[*event.VisitEvent]{
		name: "visit_events", of: func(o *write) *[]*event.VisitEvent { return &o.events }, insert: w.store.InsertEvents,
		aside: func(_ context.Context, ev **event.VisitEvent, reason string) store.Aside {
			return store.Aside{Place: stream.Place{Studio: (*ev).Studio, Bay: (*ev).Bay}, Key: (*ev).Id}
		},
	})
	if err != nil {
		return err
	}
	err = put(ctx, w, orders, table[store.EntryRow]{
		name: "entries", of: func(o *write) *[]store.EntryRow { return &o.entries },
		insert: func(ctx context.Context, rows []store.EntryRow) error {
			return w.store.InsertEntries(ctx, latest(rows, keyOfEntry))
		},
		taken: func(rows []store.EntryRow) {
			for i := range rows {
				if age := now() - rows[i].Entry.ReceivedUnixNs; age > 0 && age < int64(time.Minute) {
					w.metrics.latency.Observe(float64(age) / 1e9)
				}
			}
		},
		aside: w.replace,
	})
	if err != nil {
		return err
	}
	err = put(ctx, w, orders, table[store.TrialRow]{
		name: "trials", of: func(o *write) *[]store.TrialRow { return &o.trials },
		insert: func(ctx context.Context, rows []store.TrialRow) error {
			return w.store.InsertTrials(ctx, latest(rows, keyOfTrial))
		},
		aside: func(_ context.Context, r *store.TrialRow, reason string) store.Aside {
			return store.Aside{Place: stream.Place{Studio: r.Studio, Bay: r.Bay}, Key: fmt.Sprintf("%s/%s/%d", r.Session, r.Trial, r.Part)}
		},
	})
	if err != nil {
		return err
	}
	err = put(ctx, w, orders, table[store.VerdictRow]{
		name: "verdicts", of: func(o *write) *[]store.VerdictRow { return &o.verdicts },
		insert: func(ctx context.Context, rows []store.VerdictRow) error {
			return w.store.InsertVerdicts(ctx, latest(rows, keyOfVerdict))
		},
		aside: func(_ context.Context, r *store.VerdictRow, reason string) store.Aside {
			return store.Aside{Place: r.Place, Key: r.ID}
		},
	})
	if err != nil {
		return err
	}
	return put(ctx, w, orders, table[store.Aside]{
		name: "set_aside", of: func(o *write) *[]store.Aside { return &o.asides }, insert: w.store.NoteAsides,
		aside: func(_ context.Context, a *store.Aside, _ string) store.Aside {
			return store.Aside{Place: a.Place, Key: a.Key}
		},
	})
}

// replace stores a rejected row in the place of an entry's that the store
// refuses, with as little of it as it takes.
func (w *writer) replace(ctx context.Context, r *store.EntryRow, reason string) store.Aside {
	for _, bare := range []bool{false, true} {
		if err := w.store.InsertEntries(ctx, []store.EntryRow{r.Refused(reason, bare)}); err == nil {
			break
		}
	}
	return store.Aside{Place: stream.Place{Studio: r.Entry.Studio, Bay: r.Entry.Bay}, Key: r.Key()}
}

// table is how rows of one table are found in orders, inserted, and set aside.
type table[R any] struct {
	name   string
	of     func(*write) *[]R
	insert func(context.Context, []R) error
	taken  func([]R) // nil: nobody wants to know
	// aside does what is to be done for a row that is refused, and says what it was.
	aside func(ctx context.Context, r *R, reason string) store.Aside
}

// put inserts the rows of orders. Where the store refuses them the bad ones are
// looked for and set aside.
func put[R any](ctx context.Context, w *writer, orders []*order, t table[R]) error {
	var rows []R
	for _, o := range orders {
		if own := *t.of(&o.write); len(rows) == 0 {
			rows = own[:len(own):len(own)]
		} else {
			rows = append(rows, own...)
		}
	}
	if len(rows) == 0 {
		return nil
	}
	begun := time.Now()
	if err := t.insert(ctx, rows); err != nil {
		if ctx.Err() != nil {
			return ctx.Err()
		}
		blame := store.BlameFor(err)
		if blame == store.OfStore || blame == store.Unsure && w.failed < doubtAfter {
			return err
		}
		if err := w.sift(ctx, orders, refusalsOf(ctx, t, rows, err)); err != nil {
			return err
		}
	}
	w.metrics.insertSeconds.Observe(time.Since(begun).Seconds())
	w.metrics.batch.Observe(float64(len(rows)))
	w.metrics.stored.WithLabelValues(t.name).Add(float64(len(rows)))
	if t.taken != nil {
		t.taken(rows)
	}
	for _, o := range orders {
		*t.of(&o.write) = nil
	}
	return nil
}
