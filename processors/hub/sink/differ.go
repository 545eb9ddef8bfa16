package sink

import (
	"context"
	"errors"
	"time"

	"fairlead/processors/hub/store"
)

const (
	// compareWithin bounds the comparison of a bay that is taken over. Where the
	// store takes longer, all is written: it would answer nothing else either.
	compareWithin = time.Minute
	// lateAfter is when a bay's owner looks for rows that a predecessor had on their
	// way, and lateSince how long before the takeover those may have begun.
	lateAfter = time.Minute
	lateSince = 5 * time.Minute
)

var errLate = errors.New("rows of a predecessor came after the bay was taken over; its state is read again")

// differing leaves out of what waits for the store the rows that stand there just so.
// Whoever takes a bay over computes those of 36 hours again, since its predecessor
// may have died in the middle of a change; mostly it wrote the very same.
func (w *Worker) differing(ctx context.Context) error {
	var all write
	for i := range w.queue {
		all.join(w.queue[i])
	}
	// Each row once, the last one: an earlier one may differ where the last does not.
	of := make(map[entryKey]*card, len(all.entries))
	for i, c := range all.cards {
		of[keyOfEntry(&all.entries[i])] = c
	}
	all.entries = latest(all.entries, keyOfEntry)
	all.trials = latest(all.trials, keyOfTrial)
	all.verdicts = latest(all.verdicts, keyOfVerdict)
	begun := time.Now()
	short, cancel := context.WithTimeout(ctx, compareWithin)
	defer cancel()
	if err := w.vouch(short, all.entries); err != nil {
		return w.compareFailed(ctx, err)
	}
	entries, trials, verdicts, err := w.store.Unlike(short, w.place, all.entries, all.trials, all.verdicts)
	if err != nil {
		return w.compareFailed(ctx, err)
	}
	out := write{events: all.events, asides: all.asides, ack: all.ack}
	var stand []*card
	for i := range all.entries {
		if c := of[keyOfEntry(&all.entries[i])]; entries[i] {
			out.entries, out.cards = append(out.entries, all.entries[i]), append(out.cards, c)
		} else {
			stand = append(stand, c)
		}
	}
	out.trials, out.verdicts = only(all.trials, trials), only(all.verdicts, verdicts)
	w.queue, w.queued = nil, 0
	w.push(out)
	w.stored(stand)
	w.log.Info("rows held against the store", "rows", all.rows(), "written", out.rows(), "took", time.Since(begun).Round(time.Millisecond))
	return nil
}

func (w *Worker) compareFailed(ctx context.Context, err error) error {
	if ctx.Err() != nil {
		return ctx.Err()
	}
	w.log.Warn("rows can't be held against the store; all are written again", "rows", w.queued, "error", err)
	return nil
}

// only are the rows that are marked.
func only[R any](rows []R, marked []bool) (out []R) {
	for i := range rows {
		if marked[i] {
			out = append(out, rows[i])
		}
	}
	return out
}

// vouched is what the store held when a bay was taken over, of rows that are as the
// worker computed them and stay as their predecessor wrote them: what an insert of
// before, still on its way, lays over them would count, for it has a higher version.
type vouched struct {
	span   store.Span
	events int
	since  time.Time // of the store's clock
	marks  map[uint64]bool
}

func (w *Worker) vouch(ctx context.Context, entries []store.EntryRow) error {
	now, err := w.store.Now(ctx)
	if err != nil {
		return err
	}
	v := vouched{span: store.SpanOf(w.place, entries), events: w.bay.Timeline().Events, since: now.Add(-lateSince)}
	if v.marks, err = w.store.Late(ctx, w.place, v.span, v.events, v.since); err != nil {
		return err
	}
	w.vouched = &v
	return nil
}

// late is an error when a predecessor's rows came since.
func (w *Worker) late(ctx context.Context) error {
	v := w.vouched
	if v == nil {
		return nil
	}
	marks, err := w.store.Late(ctx, w.place, v.span, v.events, v.since)
	if err != nil {
		return err
	}
	for m := range marks {
		if !v.marks[m] {
			return errLate
		}
	}
	w.vouched = nil
	return nil
}
