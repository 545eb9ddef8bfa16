package sink

import (
	"context"

	"fairlead/processors/hub/store"
)

const (
	// doubtAfter is how often rows are given again before they are doubted where
	// the store's refusal does not say whether they are to blame.
	doubtAfter = 5
	// maxDoubted bounds the rows that are doubted while the store took none.
	maxDoubted = 64
)

// refusals are the rows of a table that the store refuses, each by itself.
type refusals struct {
	rows  []refusal
	error error // why it is not known; the rows are given again
}

type refusal struct {
	reason string
	aside  func(ctx context.Context) store.Aside
}

// refusalsOf finds the bad ones among rows that were refused together, by halves:
// the good ones are stored. A row is bad when the store says so of it, or when it
// refuses that one and takes others.
func refusalsOf[R any](ctx context.Context, t table[R], rows []R, err error) (out refusals) {
	taken, sure := 0, true
	var halve func(rows []R, err error) error
	halve = func(rows []R, err error) error {
		blame := store.BlameFor(err)
		if blame == store.OfStore || ctx.Err() != nil || taken == 0 && !sure && len(out.rows) >= maxDoubted {
			return err
		}
		if len(rows) == 1 {
			sure = sure && blame == store.OfRows
			reason := store.Reason(err)
			out.rows = append(out.rows, refusal{reason, func(ctx context.Context) store.Aside {
				a := t.aside(ctx, &rows[0], reason)
				a.Of, a.Reason = t.name, reason
				return a
			}})
			return nil
		}
		for _, half := range [][]R{rows[:len(rows)/2], rows[len(rows)/2:]} {
			if err := t.insert(ctx, half); err == nil {
				taken += len(half)
			} else if err := halve(half, err); err != nil {
				return err
			}
		}
		return nil
	}
	if out.error = halve(rows, err); out.error == nil && !sure && taken == 0 {
		out.error = err
	}
	return out
}

// sift sets refused rows aside: noted in the store with the reason, counted and said.
func (w *writer) sift(ctx context.Context, orders []*order, found refusals) error {
	if found.error != nil {
		return found.error
	}
	var notes []store.Aside
	for _, r := range found.rows {
		a := r.aside(ctx)
		notes = append(notes, a)
		w.metrics.setAsideRow(w.log, a)
		for _, o := range orders {
			o.refused = o.refused || a.Of == "entries" && o.place == a.Place
		}
	}
	if len(notes) > 0 && notes[0].Of == "set_aside" {
		return nil // the note itself was refused
	}
	return w.store.NoteAsides(ctx, notes)
}
