package tag

import (
	"fmt"

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
	asked := map[event.ShotID]bool{}
	for _, id := range ids {
		if !b.complete[id] && !asked[id] {
			asked[id] = true
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
	for _, id := range ask {
		b.complete[id] = true
	}
	return nil
}

// hold takes facts into memory.
func (b *Bay) hold(facts []Fact) {
	moved := false
	fresh := map[event.ShotID][]Fact{}
	for _, f := range facts {
		addClaim(b.claims, f)
		fresh[f.ID] = append(fresh[f.ID], f)
	}
	for id, more := range fresh {
		var known []Fact
		if s := b.shots[id]; s != nil {
			known = s.facts
		}
		merged, replaced := merge(known, more)
		if merged == nil {
			continue
		}
		b.shots[id] = newShot(id, merged)
		for _, f := range merged {
			b.home(f)
		}
		moved = moved || replaced
	}
	if moved {
		b.rehome()
	}
}

// merge adds facts to those of one shot; nil when none is new. It says whether
// one of them took the place of another under the same key.
func merge(known, more []Fact) (merged []Fact, replaced bool) {
	merged = append([]Fact(nil), known...)
	changed := false
next:
	for _, f := range more {
		for i, k := range merged {
			if k.Key == f.Key {
				if preferred(f, k) < 0 {
					merged[i], changed, replaced = f, true, true
				}
				continue next
			}
		}
		merged, changed = append(merged, f), true
	}
	if !changed {
		return nil, false
	}
	return merged, replaced
}

// home notes in which stretch an entry lies.
func (b *Bay) home(f Fact) {
	s := stretchAt(b.tl, placed(b.tl, f))
	ids := b.homes[s]
	if ids == nil {
		ids = map[event.ShotID]bool{}
		b.homes[s] = ids
	}
	ids[f.ID] = true
}

// rehome notes the stretches of all entries anew.
func (b *Bay) rehome() {
	b.homes = map[stretch]map[event.ShotID]bool{}
	for _, s := range b.shots {
		for _, f := range s.facts {
			b.home(f)
		}
	}
}
