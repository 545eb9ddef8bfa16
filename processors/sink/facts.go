package sink

import (
	"context"
	"fmt"
	"slices"
	"time"

	"fairlead/ingest/event"
	"fairlead/ingest/stream"
	"fairlead/processors/shot"
	"fairlead/processors/store"
	"fairlead/processors/tag"
)

// card is what a worker knows of an entry in memory.
type card struct {
	key   tag.Key
	line  event.Line // its bytes are nil when it was erased
	fresh bool       // not known before this round

	tag     *tag.Tag // as last reported; nil: not yet
	place   int      // among the cards of its tag's session
	values  *shot.Values
	readAs  shot.Frame // values were read so
	readFor tag.Key    // and filled in from this entry of a second device
}

// facts gives the tagger what the store holds of a bay, and keeps the entries
// themselves for the rows that will be written again.
type facts struct {
	ctx   context.Context
	store *store.Store
	place stream.Place
	held  map[tag.Key]*card
	// Fingerprints of all shot ids stored of the bay: sorted, and those since.
	// A shot that is surely new needs no question to the store.
	old   []uint64
	fresh map[uint64]struct{}
	// horizon is the latest effective time of an entry that may be in the store
	// and not in memory: what is asked for beyond it is held already.
	horizon int64
	// sessions that had trial rows when the bay was taken over.
	sessions map[string]bool
}

func newFacts(ctx context.Context, s *store.Store, place stream.Place) (*facts, error) {
	old, err := s.Fingerprints(ctx, place)
	if err != nil {
		return nil, err
	}
	horizon, err := s.LastEffective(ctx, place)
	if err != nil {
		return nil, err
	}
	sessions, err := s.SessionsWithTrials(ctx, place)
	if err != nil {
		return nil, err
	}
	return &facts{ctx: ctx, store: s, place: place, held: map[tag.Key]*card{}, old: old, fresh: map[uint64]struct{}{}, horizon: horizon, sessions: sessions}, nil
}

func (f *facts) keep(lines []event.Line) []tag.Fact {
	out := make([]tag.Fact, 0, len(lines))
	for _, l := range lines {
		fact := tag.FactOf(l.Entry)
		if _, ok := f.held[fact.Key]; !ok {
			f.held[fact.Key] = &card{key: fact.Key, line: l}
		}
		out = append(out, fact)
	}
	return out
}

// Range implements tag.Facts.
func (f *facts) Range(from, to int64) ([]tag.Fact, error) {
	if from > f.horizon {
		return nil, nil
	}
	entries, err := f.store.Between(f.ctx, f.place, from, max(from, to-1))
	return f.keep(entries), err
}

// ByID implements tag.Facts.
func (f *facts) ByID(ids []event.ShotID) ([]tag.Fact, error) {
	var ask []event.ShotID
	for _, id := range ids {
		p := store.Fingerprint(id)
		if _, ok := f.fresh[p]; ok {
			ask = append(ask, id)
		} else if _, ok := slices.BinarySearch(f.old, p); ok {
			ask = append(ask, id)
		}
	}
	if len(ask) == 0 {
		return nil, nil
	}
	entries, err := f.store.Of(f.ctx, f.place, ask)
	return f.keep(entries), err
}

// Unsure implements tag.Facts.
func (f *facts) Unsure() ([]tag.Fact, error) {
	entries, err := f.store.Unsure(f.ctx, f.place)
	return f.keep(entries), err
}

// saw notes that a shot id may be in the store from now on.
func (f *facts) saw(id event.ShotID) { f.fresh[store.Fingerprint(id)] = struct{}{} }

// get returns an entry, from memory or the store.
func (f *facts) get(k tag.Key) (*card, error) {
	if c := f.held[k]; c != nil {
		return c, nil
	}
	if _, err := f.ByID([]event.ShotID{k.ID}); err != nil {
		return nil, err
	}
	if c := f.held[k]; c != nil {
		return c, nil
	}
	return nil, fmt.Errorf("entry %s is neither held nor stored", k)
}

// forgot notes that entries up to a time are no longer all in memory.
func (f *facts) forgot(before int64) { f.horizon = max(f.horizon, before) }

// recent is how far back a worker keeps entries in memory.
const recent = 36 * time.Hour
