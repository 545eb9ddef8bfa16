package tag

import (
	"context"
	"math"

	"fairlead/ingest/contract/event"
	"fairlead/processors/visit"
)

// Facts is where a Bay reads entries of its bay that it does not hold: the
// store. An answer may hold more than was asked for and may lack entries whose
// insert is under way and that the Bay was given itself. Errors are returned
// to the caller of the Bay, who calls again later.
type Facts interface {
	// Range returns whole shots: all entries, of whatever time, of the shots with
	// an entry of a sure time in from <= effective < to.
	Range(ctx context.Context, from, to int64) ([]Noted, error)
	// ByID returns all entries of these shots.
	ByID(ctx context.Context, ids []event.ShotID) ([]Noted, error)
	// Unsure returns all entries whose effective time is unsure or wide: those read
	// before the bay's first contact with the hub, or late and without a clock.
	// They are few.
	Unsure(ctx context.Context) ([]Noted, error)
}

// Bay keeps the tags of one bay up to date as events and entries arrive, in
// any order and more than once. It is not safe for concurrent use.
//
// After an error nothing is lost: what is still to be tagged is remembered and
// returned by the next call that succeeds. A new Bay over the same log and
// store gives the same tags, so a crash needs no repair beyond Refresh.
type Bay struct {
	rules  Rules
	log    *visit.Log
	tl     *visit.Timeline
	source Facts // nil: all facts are given to AddEntries and none is forgotten

	shots map[event.ShotID]*shot // of the facts held
	held  int                    // entries of them
	homes map[stretch]*home
	near  *home    // the last one looked for
	room  struct { // for what comes
		shots []shot
		hits  []hit // to tag in
		tags  []Tag
	}
	loaded spans // times of which all entries are held
	began  bool  // unsure entries were loaded

	dirty   spans                 // times whose hits have to be tagged again
	points  []int64               // instants at which a hit stands or stood, likewise
	touched map[event.ShotID]bool // shots that have to be tagged again
	asides  []*shot               // shots whose entries beside the hit have to be
	forced  []*shot               // shots with entries to report whether or not their tag changed
	all     bool                  // report all that is tagged again
	claims  claims

	round uint64 // of tagging, counted
}

// NewBay makes a Bay from the events known so far. Give it every event of the
// bay before the first entry, then call Refresh for the time since the last
// run may have left tags behind. The log belongs to the Bay from now on.
func NewBay(rules Rules, log *visit.Log, source Facts) *Bay {
	b := &Bay{
		rules: rules, log: log, source: source, tl: log.Timeline(),
		shots: map[event.ShotID]*shot{}, homes: map[stretch]*home{},
		touched: map[event.ShotID]bool{}, claims: newClaims(),
	}
	if source == nil {
		b.loaded.add(math.MinInt64, math.MaxInt64)
		b.began = true
	}
	return b
}

// Timeline is the state of the bay as the events known tell it.
func (b *Bay) Timeline() *visit.Timeline { return b.tl }

// Log is the log of the bay, for reading.
func (b *Bay) Log() *visit.Log { return b.log }

// Held is the number of entries in memory.
func (b *Bay) Held() int { return b.held }

// AddEntries takes entries and returns the tags of all of them, and of every
// other entry whose tag they changed. An entry known already is tagged again:
// its writer may have died before the store took it. It keeps the note that it
// came with first.
func (b *Bay) AddEntries(ctx context.Context, facts []Noted) ([]Change, error) {
	if err := b.begin(ctx); err != nil {
		return nil, err
	}
	ids := make([]event.ShotID, 0, len(facts))
	for i := range facts {
		ids = append(ids, facts[i].ID)
	}
	if err := b.completeShots(ctx, ids); err != nil {
		return nil, err
	}
	known := b.standings(ids)
	shots := b.hold(facts)
	for i, s := range shots {
		s.complete = true
		b.insist(s, func(k Key) bool { return k == facts[i].Key })
		b.loudly(s)
	}
	b.soilHits(shots, known)
	return b.settle(ctx)
}

// insist makes entries of a shot be reported whether or not their tag changed.
func (b *Bay) insist(s *shot, which func(Key) bool) {
	for i := range s.facts {
		if which(s.facts[i].Key) {
			s.facts[i].force = true
		}
	}
	b.forced = append(b.forced, s)
}

// loudly has the entries of a shot beside its hit tagged again.
func (b *Bay) loudly(s *shot) {
	if !s.loud {
		s.loud = true
		b.asides = append(b.asides, s)
	}
}

// Refresh reads the entries of a time again from the store and returns the
// tags of all of them. A process does so for the recent past when it takes a
// bay over, since its predecessor may have died between taking an event and
// writing the tags that it changed, and when the store was written by another
// owner meanwhile.
func (b *Bay) Refresh(ctx context.Context, from, to int64) ([]Change, error) {
	if b.source != nil {
		// Another owner may have written entries of shots that are held too.
		b.began = false
		for _, s := range b.shots {
			s.complete = false
		}
		b.loaded.cut(from, to)
	}
	if err := b.begin(ctx); err != nil {
		return nil, err
	}
	if err := b.load(ctx, from, to-1); err != nil {
		return nil, err
	}
	within := b.within(from, to)
	if err := b.completeShots(ctx, within); err != nil {
		return nil, err
	}
	b.dirty.add(from, to-1)
	for _, id := range within {
		s := b.shots[id]
		b.loudly(s)
		b.insist(s, func(Key) bool { return true })
	}
	return b.settle(ctx)
}

// within lists the shots held with an entry in a stretch of [from, to).
func (b *Bay) within(from, to int64) []event.ShotID {
	var found []event.ShotID
	for at, home := range b.homes {
		if at.from < to && from < at.to {
			for _, s := range home.shots {
				found = append(found, s.id)
			}
		}
	}
	return found
}

// Note returns the note of an entry, nil when the Bay does not hold it.
func (b *Bay) Note(k Key) any {
	if s := b.shots[k.ID]; s != nil {
		for i := range s.facts {
			if s.facts[i].Key == k {
				return s.facts[i].note
			}
		}
	}
	return nil
}

// Forget drops entries hit before an instant, to bound memory, and returns
// their notes. Call it only after the store took all that was returned. What is
// needed again is loaded.
func (b *Bay) Forget(before int64) (notes []any) {
	if b.source == nil || len(b.dirty)+len(b.points)+len(b.touched)+len(b.asides)+len(b.forced) > 0 {
		return nil
	}
	before = stretchAt(b.tl, before).from
	keep := map[event.ShotID]bool{}
	for at, home := range b.homes {
		if at.to > before || at.from >= before {
			for _, s := range home.shots {
				keep[s.id] = true
			}
		}
	}
	b.loaded.cut(math.MinInt64, before)
	for id, s := range b.shots {
		if keep[id] {
			continue
		}
		unsure := false
		for i := range s.facts {
			unsure = unsure || s.facts[i].roving()
		}
		if unsure {
			continue
		}
		for i := range s.facts {
			b.claims.forget(&s.facts[i].Fact)
			notes = append(notes, s.facts[i].note)
		}
		b.held -= len(s.facts)
		delete(b.shots, id)
	}
	b.rehome()
	return notes
}
