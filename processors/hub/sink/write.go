package sink

import (
	"github.com/nats-io/nats.go/jetstream"

	"fairlead/ingest/contract/event"
	"fairlead/processors/hub/store"
)

// write is what one round gives to the store, and the message to acknowledge
// when it is there.
type write struct {
	entries  []store.EntryRow
	trials   []store.TrialRow
	events   []*event.VisitEvent
	verdicts []store.VerdictRow
	asides   []store.Aside
	ack      jetstream.Msg // last message of the round; nil: none
	cards    []*card       // of the entries
}

func (w *write) rows() int {
	return len(w.entries) + len(w.trials) + len(w.events) + len(w.verdicts) + len(w.asides)
}

// join adds a later write.
func (w *write) join(o write) {
	w.entries = append(w.entries, o.entries...)
	w.trials = append(w.trials, o.trials...)
	w.events = append(w.events, o.events...)
	w.verdicts = append(w.verdicts, o.verdicts...)
	w.asides = append(w.asides, o.asides...)
	w.cards = append(w.cards, o.cards...)
	if o.ack != nil {
		w.ack = o.ack
	}
}

func (w *Worker) push(out write) {
	if out.rows() == 0 && out.ack == nil {
		return
	}
	w.queue = append(w.queue, out)
	w.queued += out.rows()
}

// next joins the rounds that wait into one insert, in order.
func (w *Worker) next() write {
	var job write
	for len(w.queue) > 0 && job.rows() < 5*maxBatch {
		job.join(w.queue[0])
		w.queue[0] = write{} // what is behind a slice stays alive
		w.queue = w.queue[1:]
	}
	if len(w.queue) == 0 {
		w.queue = nil
	}
	w.queued -= job.rows()
	return job
}

// latest keeps the last row of each key: rounds that were joined may hold a row
// more than once.
func latest[R any, K comparable](rows []R, key func(*R) K) []R {
	last := make(map[K]int, len(rows))
	for i := range rows {
		last[key(&rows[i])] = i
	}
	if len(last) == len(rows) {
		return rows
	}
	out := make([]R, 0, len(last))
	for i := range rows {
		if last[key(&rows[i])] == i {
			out = append(out, rows[i])
		}
	}
	return out
}

type entryKey struct {
	bay     string // a copied disk makes two bays claim the rest
	journal string
	seq     uint64
	id      event.ShotID
}

func keyOfEntry(r *store.EntryRow) entryKey {
	return entryKey{r.Entry.Studio + "/" + r.Entry.Bay, r.Entry.Journal, r.Entry.Seq, r.Entry.ID()}
}

type trialKey struct {
	bay string
	store.TrialKey
}

func keyOfTrial(r *store.TrialRow) trialKey {
	return trialKey{r.Studio + "/" + r.Bay, store.TrialKey{Session: r.Session, Trial: r.Trial, Part: r.Part}}
}

func keyOfVerdict(r *store.VerdictRow) string {
	return r.Place.Studio + "/" + r.Place.Bay + "/" + r.ID
}
