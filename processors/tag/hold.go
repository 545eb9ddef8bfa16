package tag

import (
	"fmt"
	"slices"

	"fairlead/ingest/event"
)

// begin loads the entries of unsure time once: where they belong can't be read
// off their own time, so they are always held.
func (b *Bay) begin() error {
	if b.began {
		return nil
	}
	facts, err := b.source.Unsure()
	if err != nil {
		return fmt.Errorf("load entries of unsure time: %w", err)
	}
	ids := make([]event.ShotID, 0, len(facts))
	for _, f := range facts {
		ids = append(ids, f.ID)
	}
	b.hold(facts)
	if err := b.completeShots(ids); err != nil {
		return err
	}
	b.began = true
	return nil
}

// load makes sure that all entries of [from, to] are held, whole shots with
// all their entries.
func (b *Bay) load(from, to int64) error {
	if b.loaded.covers(from, to) {
		return nil
	}
	end := to
	if end < maxInstant {
		end++
	}
	facts, err := b.source.Range(from, end)
	if err != nil {
		return fmt.Errorf("load entries of a time: %w", err)
	}
	ids := make([]event.ShotID, 0, len(facts))
	for _, f := range facts {
		ids = append(ids, f.ID)
	}
	b.hold(facts)
	if err := b.completeShots(ids); err != nil {
		return err
	}
	b.loaded.add(from, to)
	return nil
}

// completeShots makes sure that all entries of these shots are held.
func (b *Bay) completeShots(ids []event.ShotID) error {
	if b.source == nil {
		return nil
	}
	var ask []event.ShotID
	for _, id := range ids {
		if s := b.shots[id]; s == nil || !s.complete {
			ask = append(ask, id)
		}
	}
	if len(ask) == 0 {
		return nil
	}
	facts, err := b.source.ByID(ask)
	if err != nil {
		return fmt.Errorf("load entries of %d shots: %w", len(ask), err)
	}
	b.hold(facts)
	b.completed(ask)
	return nil
}

// completed notes that all entries of these shots are held, where any is.
func (b *Bay) completed(ids []event.ShotID) {
	for _, id := range ids {
		if s := b.shots[id]; s != nil {
			s.complete = true
		}
	}
}

// hold takes facts into memory.
func (b *Bay) hold(facts []Fact) {
	moved := false
	var grown []*shot
	for i := range facts {
		f := &facts[i]
		b.claims.add(f)
		s := b.shots[f.ID]
		if s == nil {
			s = emptyShot(f.ID)
			b.shots[f.ID] = s
		}
		if news, replaced := s.add(*f); news {
			grown = append(grown, s)
			moved = moved || replaced
		}
	}
	for _, s := range grown {
		s.resolve()
		b.settleIn(s)
	}
	if moved {
		b.rehome()
	}
}

// settleIn notes in which stretches the entries of a shot lie.
func (b *Bay) settleIn(s *shot) {
	for i := range s.facts {
		at := stretchAt(b.tl, placed(b.tl, &s.facts[i].Fact))
		if !slices.Contains(s.homes, at) {
			s.homes = append(s.homes, at)
			b.homes[at] = append(b.homes[at], s)
		}
	}
}

// rehome notes the stretches of all entries anew.
func (b *Bay) rehome() {
	b.homes = map[stretch][]*shot{}
	for _, s := range b.shots {
		s.homes = s.homes[:0]
	}
	for _, s := range b.shots {
		b.settleIn(s)
	}
}
