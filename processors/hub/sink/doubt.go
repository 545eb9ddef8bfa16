package sink

import (
	"cmp"
	"context"
	"slices"

	"fairlead/processors/hub/store"
)

// doubtAtOnce bounds the rows in doubt that are looked at between two inserts: what is
// hit meanwhile waits no longer than that.
const doubtAtOnce = 5000

// doubted is a row as a worker computed it when it took the bay over. Its predecessor
// mostly wrote the very same, and there may be tens of thousands: they are held against
// the store when nothing else waits for it, and only what differs is written. Until
// then nothing is lost, for whoever takes the bay over next computes them again.
type doubted struct {
	row  store.EntryRow
	card *card
}

// doubt puts the rows of a write off. The newest entries come first: their session is
// the one that people look at.
func (w *Worker) doubt(out *write) {
	for i, c := range out.cards {
		w.doubts = append(w.doubts, doubted{out.entries[i], c})
	}
	out.entries, out.cards = nil, nil
	slices.SortFunc(w.doubts, func(a, b doubted) int { // taken from its end
		x, y := a.row.Entry, b.row.Entry
		return cmp.Or(cmp.Compare(x.Journal, y.Journal), cmp.Compare(x.Seq, y.Seq))
	})
}

// nextDoubts are some of the rows in doubt. What was tagged anew since was written
// since, and its line may be erased.
func (w *Worker) nextDoubts() write {
	job := write{doubted: true}
	for n := len(w.doubts); n > 0 && len(job.entries) < doubtAtOnce; n = len(w.doubts) {
		d := w.doubts[n-1]
		w.doubts[n-1] = doubted{}
		w.doubts = w.doubts[:n-1]
		if d.card.tag == d.row.Tag {
			job.entries, job.cards = append(job.entries, d.row), append(job.cards, d.card)
		}
	}
	if len(w.doubts) == 0 {
		w.doubts = nil
	}
	return job
}

// sure leaves the rows out that the store has just so. Where it can't say, all are written.
func (w *Worker) sure(ctx context.Context, job write) write {
	if !job.doubted {
		return job
	}
	unlike, err := w.store.Unlike(ctx, w.place, job.entries)
	if err != nil {
		if ctx.Err() == nil {
			w.log.Warn("rows can't be held against the store; all are written again", "rows", len(job.entries), "error", err)
		}
		return job
	}
	var differ []store.EntryRow
	for i := range job.entries {
		if unlike[i] {
			differ = append(differ, job.entries[i])
		}
	}
	job.entries = differ
	return job
}
