package tag

import (
	"context"
	"maps"
	"math"
	"slices"

	"fairlead/ingest/contract/event"
)

const maxInstant = math.MaxInt64

// standing is what the rest of a bay sees of a shot: its hit.
type standing struct {
	stands bool
	fact   Fact
	origin Fact
}

func (s *shot) standing() standing {
	f, ok := s.hit()
	if !ok {
		return standing{}
	}
	return standing{true, *f, *s.first()}
}

// standings remembers how shots that are known stand before facts are added.
func (b *Bay) standings(ids []event.ShotID) map[event.ShotID]standing {
	known := map[event.ShotID]standing{}
	for _, id := range ids {
		if s := b.shots[id]; s != nil {
			known[id] = s.standing()
		}
	}
	return known
}

// soilHits marks the times at which a shot stands or stood. A repeat of a shot
// that stands as before touches nothing but its own entries, and these.
func (b *Bay) soilHits(shots []*shot, known map[event.ShotID]standing) {
	for _, s := range shots {
		_, stands := s.hit()
		again := stands && s.facts[s.best].force
		was, old := known[s.id]
		if old && !again && was == s.standing() {
			continue
		}
		if stands {
			b.points = append(b.points, placed(b.tl, s.first()))
		}
		if was.stands {
			b.points = append(b.points, placed(b.tl, &was.origin))
		}
	}
}

// settle tags all that is marked and returns what changed.
func (b *Bay) settle(ctx context.Context) ([]Change, error) {
	only, err := b.region(ctx)
	if err != nil {
		return nil, err
	}
	b.round++
	var shots []*shot
	for _, at := range slices.SortedFunc(maps.Keys(only), earlier) {
		for _, s := range b.homes[at].all() {
			if s.round != b.round {
				s.round = b.round
				shots = append(shots, s)
			}
		}
	}
	changes := make([]Change, 0, len(b.forced))
	give := func(s *shot, i int, t *Tag) {
		m := &s.facts[i]
		if m.round == b.round || m.said != nil && !m.force && !b.all && m.said.Same(t) {
			return
		}
		m.round = b.round
		kept := roomFor(&b.room.tags, len(b.forced))
		*kept = *t // t lies among what it was computed from
		m.said = kept
		changes = append(changes, Change{m.Key, kept, m.note})
	}
	for _, s := range b.asides {
		s.aside(b.tl, give)
	}
	for _, s := range shots {
		s.aside(b.tl, give)
	}
	b.rules.hits(b.tl, shots, only, &b.room.hits, give)
	slices.SortFunc(changes, func(x, y Change) int { return x.Key.compare(y.Key) })
	b.done()
	return changes, nil
}

// done notes that all that was marked is tagged and reported.
func (b *Bay) done() {
	b.dirty, b.points, b.all = nil, b.points[:0], false
	clear(b.touched)
	for _, s := range b.asides {
		s.loud = false
	}
	for _, s := range b.forced {
		for i := range s.facts {
			s.facts[i].force = false
		}
	}
	clear(b.asides)
	clear(b.forced)
	b.asides, b.forced = b.asides[:0], b.forced[:0]
}

// region loads and returns the stretches that the marked times bear on.
func (b *Bay) region(ctx context.Context) (map[stretch]bool, error) {
	touched := slices.Collect(maps.Keys(b.touched))
	if err := b.completeShots(ctx, touched); err != nil {
		return nil, err
	}
	for _, id := range touched {
		if s := b.shots[id]; s != nil {
			for i := range s.facts {
				b.points = append(b.points, placed(b.tl, &s.facts[i].Fact))
			}
		}
	}
	for _, d := range b.dirty {
		if d.from != d.to {
			if err := b.load(ctx, d.from, d.to); err != nil {
				return nil, err
			}
		}
	}
	var todo []stretch
	last := stretch{}
	for _, at := range b.points {
		if !last.holds(at) {
			last = stretchAt(b.tl, at)
			todo = append(todo, last)
		}
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
		for _, s := range b.tl.Stays {
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
			if err := b.load(ctx, s.from, s.to-1); err != nil {
				return nil, err
			}
		}
		if len(b.tl.Overlays) == 0 {
			continue // nothing was moved
		}
		for _, shot := range b.homes[s].all() {
			if to := target(b.tl, shot.id); to != nil {
				todo = append(todo, stretchOf(to.Stay))
				todo = append(todo, b.stretchesOf(shot)...)
			}
		}
		if s.stay == nil {
			continue
		}
		var moved []event.ShotID
		for _, session := range s.stay.Sessions {
			moved = append(moved, b.tl.MovedInto(session)...)
		}
		if err := b.completeShots(ctx, moved); err != nil {
			return nil, err
		}
		for _, id := range moved {
			if shot := b.shots[id]; shot != nil {
				todo = append(todo, b.stretchesOf(shot)...)
			}
		}
	}
	return region, nil
}

// stretchesOf lists where the entries of a shot lie.
func (b *Bay) stretchesOf(s *shot) (all []stretch) {
	for i := range s.facts {
		all = append(all, stretchAt(b.tl, placed(b.tl, &s.facts[i].Fact)))
	}
	return all
}
