package tag

import (
	"maps"
	"math"
	"slices"

	"fairlead/ingest/event"
)

const maxInstant = math.MaxInt64

// standing is what the rest of a bay sees of a shot: its hit.
type standing struct {
	stands bool
	fact   Fact
	origin Fact
}

func (s *shot) standing() standing {
	if s == nil {
		return standing{}
	}
	f, ok := s.hit()
	if !ok {
		return standing{}
	}
	return standing{true, f, s.first()}
}

// standings remembers how shots stand before facts are added.
func (b *Bay) standings(ids []event.ShotID) map[event.ShotID]standing {
	known := make(map[event.ShotID]standing, len(ids))
	for _, id := range ids {
		known[id] = b.shots[id].standing()
	}
	return known
}

// soilHits marks the times at which a shot stands or stood. A repeat of a shot
// that stands as before touches nothing but its own entries, and these.
func (b *Bay) soilHits(ids []event.ShotID, known map[event.ShotID]standing) {
	for _, id := range ids {
		was, is := known[id], b.shots[id].standing()
		again := is.stands && b.force[is.fact.Key]
		if was == is && !again {
			continue
		}
		for _, s := range []standing{was, is} {
			if s.stands {
				b.points = append(b.points, placed(b.tl, s.origin))
			}
		}
	}
}

// settle tags all that is marked and returns what changed.
func (b *Bay) settle() ([]Change, error) {
	only, err := b.region()
	if err != nil {
		return nil, err
	}
	ids := map[event.ShotID]bool{}
	for s := range only {
		for id := range b.homes[s] {
			ids[id] = true
		}
	}
	shots := make([]*shot, 0, len(ids))
	for id := range ids {
		shots = append(shots, b.shots[id])
	}
	var changes []Change
	reported := map[Key]bool{}
	give := func(k Key, t *Tag) {
		old := b.emitted[k]
		if reported[k] || old != nil && old.Same(t) && !b.force[k] && !b.all {
			return
		}
		reported[k] = true
		kept := *t // t lies among what it was computed from
		b.emitted[k] = &kept
		changes = append(changes, Change{k, *t})
	}
	for id := range b.asides {
		if s := b.shots[id]; s != nil {
			s.aside(b.tl, give)
		}
	}
	for _, s := range shots {
		s.aside(b.tl, give)
	}
	b.rules.hits(b.tl, shots, only, give)
	slices.SortFunc(changes, func(x, y Change) int { return x.Key.compare(y.Key) })
	b.dirty, b.points, b.all = nil, nil, false
	clear(b.touched)
	clear(b.asides)
	clear(b.force)
	return changes, nil
}

// region loads and returns the stretches that the marked times bear on.
func (b *Bay) region() (map[stretch]bool, error) {
	touched := slices.Collect(maps.Keys(b.touched))
	if err := b.completeShots(touched); err != nil {
		return nil, err
	}
	for _, id := range touched {
		if s := b.shots[id]; s != nil {
			for _, f := range s.facts {
				b.points = append(b.points, placed(b.tl, f))
			}
		}
	}
	for _, d := range b.dirty {
		if d.from != d.to {
			if err := b.load(d.from, d.to); err != nil {
				return nil, err
			}
		}
	}
	var todo []stretch
	for _, at := range b.points {
		todo = append(todo, stretchAt(b.tl, at))
	}
	for _, d := range b.dirty {
		todo = append(todo, stretchAt(b.tl, d.from), stretchAt(b.tl, d.to))
	}
	if len(b.dirty) > 0 {
		for s := range b.homes {
			if b.dirty.touches(s.from, s.to) {
				todo = append(todo, s)
			}
		}
		for _, s := range b.tl.Sessions {
			if b.dirty.touches(s.From, s.To) {
				todo = append(todo, stretchOf(s))
			}
		}
	}
	region := map[stretch]bool{}
	for len(todo) > 0 {
		s := todo[len(todo)-1]
		todo = todo[:len(todo)-1]
		if region[s] {
			continue
		}
		region[s] = true
		if s.from < s.to {
			if err := b.load(s.from, s.to-1); err != nil {
				return nil, err
			}
		}
		for id := range b.homes[s] {
			if to := target(b.tl, id); to != nil {
				todo = append(todo, stretchOf(to))
				for _, f := range b.shots[id].facts {
					todo = append(todo, stretchAt(b.tl, placed(b.tl, f)))
				}
			}
		}
		if s.session == nil {
			continue
		}
		moved := b.tl.MovedInto(s.session)
		if err := b.completeShots(moved); err != nil {
			return nil, err
		}
		for _, id := range moved {
			if shot := b.shots[id]; shot != nil {
				for _, f := range shot.facts {
					todo = append(todo, stretchAt(b.tl, placed(b.tl, f)))
				}
			}
		}
	}
	return region, nil
}
