package sink

import (
	"context"

	"fairlead/ingest/contract/event"
	"fairlead/processors/visit/tag"
)

// keepWhole bounds the cards that hold their lines although the store has them:
// more than a session has, so that a correction need not ask for any.
const keepWhole = 1000

// stored notes that the lines of cards are in the store. Of those that came long
// ago only what tags and statistics need is kept: a bay whose session nobody
// closes would hold every line that it ever read.
func (w *Worker) stored(cards []*card) {
	w.whole = append(w.whole, cards...)
	n := max(0, len(w.whole)-w.keep)
	for _, c := range w.whole[:n] {
		if !c.erased() {
			c.entry, c.bytes = nil, nil
		}
	}
	if n > 0 {
		w.whole = append(w.whole[:0:0], w.whole[n:]...)
	}
}

// erased says whether a card's line was forgotten: what is left of the entry is
// not in its bytes.
func (c *card) erased() bool { return c.entry != nil && c.bytes == nil }

// fetch gives cards back the lines that were let go: those of the store, else
// those that came with this round, which the store has lost.
func (w *Worker) fetch(ctx context.Context, cards []*card) error {
	var ids []event.ShotID
	want := map[tag.Key]*card{}
	for _, c := range cards {
		if c.entry == nil {
			ids = append(ids, c.key.ID)
			want[c.key] = c
		}
	}
	if len(ids) == 0 {
		return nil
	}
	lines, err := w.store.Of(ctx, w.place, ids)
	if err != nil {
		return err
	}
	w.works()
	give := func(key tag.Key, entry *event.Entry, bytes []byte) {
		if c := want[key]; c != nil && c.entry == nil {
			c.entry, c.bytes = entry, bytes
		}
	}
	for i := range lines {
		give(tag.FactOf(lines[i].Entry).Key, lines[i].Entry, lines[i].Bytes)
	}
	for i := range w.took {
		if c, ok := w.took[i].Note.(*card); ok && c.entry != nil {
			give(c.key, c.entry, c.bytes)
		}
	}
	return nil
}
