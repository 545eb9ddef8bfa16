package tag

import (
	"context"
	"fmt"
	"slices"

	"fairlead/ingest/contract/event"
)

// begin loads the entries of unsure time once: where they belong can't be read
// off their own time, so they are always held.
func (b *Bay) begin(ctx context.Context) error {
	if b.began {
		return nil
	}
	facts, err := b.source.Unsure(ctx)
	if err != nil {
		return fmt.Errorf("load entries of unsure time: %w", err)
	}
	ids := make([]event.ShotID, 0, len(facts))
	for _, f := range facts {
		ids = append(ids, f.ID)
	}
	if err := b.completeShots(ctx, ids); err != nil {
		return err
	}
	b.began = true
	return nil
}

// load makes sure that all entries of [from, to] are held, whole shots with
// all their entries.
func (b *Bay) load(ctx context.Context, from, to int64) error {
	if b.loaded.covers(from, to) {
		return nil
	}
	end := to
	if end < maxInstant {
		end++
	}
	facts, err := b.source.Range(ctx, from, end)
	if err != nil {
		return fmt.Errorf("load entries of a time: %w", err)
	}
	for _, s := range b.hold(facts) {
		s.complete = true
	}
	b.loaded.add(from, to)
	return nil
}

// completeShots makes sure that all entries of these shots are held.
func (b *Bay) completeShots(ctx context.Context, ids []event.ShotID) error {
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
	facts, err := b.source.ByID(ctx, ask)
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

// hold takes facts into memory and returns the shot of each.
func (b *Bay) hold(facts []Noted) []*shot {
	moved := false
	shots := make([]*shot, len(facts))
	for i := range facts {
		f := &facts[i].Fact
		b.claims.add(f)
		s := b.shots[f.ID]
		if s == nil {
			s = roomFor(&b.room.shots, len(facts))
			s.begin(f.ID)
			b.shots[f.ID] = s
		}
		shots[i] = s
		if news, replaced := s.add(f, facts[i].Note); news {
			s.grown = true
			moved = moved || replaced
			if !replaced {
				b.held++
			}
		}
	}
	for _, s := range shots {
		if s.grown {
			s.grown = false
			s.resolve()
			b.settleIn(s)
		}
	}
	if moved {
		b.rehome()
	}
	return shots
}

// roomFor makes a thing in a piece of memory for many, where many are to come.
func roomFor[T any](room *[]T, coming int) *T {
	const most = 64
	if len(*room) == 0 {
		*room = make([]T, min(max(coming, 1), most))
	}
	made := &(*room)[0]
	*room = (*room)[1:]
	return made
}

// home is a stretch with the shots that have an entry in it.
type home struct {
	at    stretch
	shots []*shot
}

// all are the shots of a home; none where nobody has one.
func (h *home) all() []*shot {
	if h == nil {
		return nil
	}
	return h.shots
}

// homeAt finds or makes the home of an instant.
func (b *Bay) homeAt(at int64) *home {
	if b.near == nil || !b.near.at.holds(at) {
		s := stretchAt(b.tl, at)
		b.near = b.homes[s]
		if b.near == nil {
			b.near = &home{at: s}
			b.homes[s] = b.near
		}
	}
	return b.near
}

// settleIn notes in which stretches the entries of a shot lie.
func (b *Bay) settleIn(s *shot) {
	for i := range s.facts {
		h := b.homeAt(placed(b.tl, &s.facts[i].Fact))
		if !slices.Contains(s.homes, h) {
			s.homes = append(s.homes, h)
			h.shots = append(h.shots, s)
		}
	}
}

// rehome notes the stretches of all entries anew.
func (b *Bay) rehome() {
	b.homes, b.near = map[stretch]*home{}, nil
	for _, s := range b.shots {
		s.homes = s.homes[:0]
	}
	for _, s := range b.shots {
		b.settleIn(s)
	}
}
