package sink

import (
	"context"
	"slices"
	"time"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/stream"
	"fairlead/processors/hub/store"
	"fairlead/processors/visit/shot"
	"fairlead/processors/visit/tag"
)

// card is what a worker knows of an entry in memory.
type card struct {
	key   tag.Key
	entry *event.Entry    // without its measures; nil: let go, the store has it
	bytes []byte          // all of it; nil too when it was erased
	given *event.Readings // nil once read: they are needed again only when hand or pair change
	fresh bool            // not known before this round

	// Of the entry, kept when it is let go.
	device, firmware    string
	received, effective int64 // Unix ns

	tag     *tag.Tag // as last reported; nil: not yet
	place   int      // among the cards of its tag's session
	values  *shot.Values
	readAs  shot.Frame // values were read so
	readFor *card      // and filled in from this entry of a second device
}

// facts gives the tagger what the store holds of a bay. The tagger keeps the
// cards, for the rows that will be written again.
type facts struct {
	store *store.Store
	place stream.Place
	// Fingerprints of all shot ids stored of the bay: sorted, and those since.
	// A shot that is surely new needs no question to the store.
	old   []uint64
	fresh seen
	// horizon is the latest effective time of an entry that may be in the store
	// and not in memory: what is asked for beyond it is held already.
	horizon int64
	// sessions that had trial rows when the bay was taken over.
	sessions map[string]bool
	// answered, if set, is called with each answer of the store.
	answered func()
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
	return &facts{store: s, place: place, old: old, horizon: horizon, sessions: sessions}, nil
}

// cards makes cards in pieces of memory for many, where many are to come.
type cards struct {
	room  []card
	given []event.Readings
}

// make makes the card of an entry and gives it to the tagger.
func (c *cards) make(l *event.Line, coming int) (tag.Noted, *card) {
	const most = 64
	if len(c.room) == 0 {
		n := min(max(coming, 1), most)
		c.room, c.given = make([]card, n), make([]event.Readings, n)
	}
	made, given, fact := &c.room[0], &c.given[0], tag.FactOf(l.Entry)
	c.room, c.given = c.room[1:], c.given[1:]
	*given = l.Given
	made.key, made.entry, made.bytes, made.given = fact.Key, l.Entry, l.Bytes, given
	made.device, made.firmware = l.Entry.Device, l.Entry.Firmware
	made.received, made.effective = l.Entry.ReceivedUnixNs, l.Entry.EffectiveUnixNs
	return tag.Noted{Fact: fact, Note: made}, made
}

// noted gives stored lines to the tagger, each with a card.
func noted(lines []event.Line) []tag.Noted {
	out := make([]tag.Noted, 0, len(lines))
	var made cards
	for i := range lines {
		fact, _ := made.make(&lines[i], len(lines)-i)
		out = append(out, fact)
	}
	return out
}

// noted gives what the store answered to the tagger.
func (f *facts) noted(lines []event.Line, err error) ([]tag.Noted, error) {
	if err == nil && f.answered != nil {
		f.answered()
	}
	return noted(lines), err
}

// Range implements tag.Facts.
func (f *facts) Range(ctx context.Context, from, to int64) ([]tag.Noted, error) {
	if from > f.horizon {
		return nil, nil
	}
	entries, err := f.store.WholeBetween(ctx, f.place, from, max(from, to-1))
	return f.noted(entries, err)
}

// ByID implements tag.Facts.
func (f *facts) ByID(ctx context.Context, ids []event.ShotID) ([]tag.Noted, error) {
	var ask []event.ShotID
	for _, id := range ids {
		p := store.Fingerprint(id)
		if f.fresh.has(p) {
			ask = append(ask, id)
		} else if _, ok := slices.BinarySearch(f.old, p); ok {
			ask = append(ask, id)
		}
	}
	if len(ask) == 0 {
		return nil, nil
	}
	entries, err := f.store.Of(ctx, f.place, ask)
	return f.noted(entries, err)
}

// Unsure implements tag.Facts.
func (f *facts) Unsure(ctx context.Context) ([]tag.Noted, error) {
	entries, err := f.store.Unsure(ctx, f.place)
	return f.noted(entries, err)
}

// saw notes that a shot id may be in the store from now on.
func (f *facts) saw(id event.ShotID) { f.fresh.add(store.Fingerprint(id)) }

// forgot notes that an entry of this time is no longer in memory.
func (f *facts) forgot(effective int64) { f.horizon = max(f.horizon, effective) }

// recent is how far back a worker keeps entries in memory.
const recent = 36 * time.Hour
