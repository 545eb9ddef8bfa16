package tag

import (
	"maps"
	"os"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"fairlead/ingest/event"
	"fairlead/processors/visit"
)

// drive feeds a world to a Bay in a drawn order, with repeats, restarts, what
// the store had not yet taken lost, and a store that is away at times, and
// writes what it returns to the shelf.
func drive(t *rapid.T, w world, s *shelf) *Bay {
	type step struct {
		event *event.VisitEvent
		fact  *Fact
	}
	var steps []step
	for _, ev := range w.events {
		steps = append(steps, step{event: ev})
	}
	for i := range w.facts {
		steps = append(steps, step{fact: &w.facts[i]})
	}
	steps = rapid.Permutation(steps).Draw(t, "order")
	log := &visit.Log{}
	bay := NewBay(DefaultRules(), log, s)
	known := []*event.VisitEvent{}
	for len(steps) > 0 {
		n := min(rapid.IntRange(1, 4).Draw(t, "batch"), len(steps))
		batch := steps[:n]
		var facts []Fact
		var events []*event.VisitEvent
		for _, st := range batch {
			if st.fact != nil {
				facts = append(facts, *st.fact)
			} else {
				events = append(events, clone(st.event))
			}
		}
		known = append(known, events...)
		for _, f := range facts {
			if old, ok := s.facts[f.Key]; ok && preferred(old, f) < 0 {
				continue
			}
		}
		what := rapid.IntRange(0, 9).Draw(t, "what")
		if what == 0 { // dies after computing, before the store took it; then all is delivered again
			bay.AddEvents(events)
			bay.AddEntries(facts)
		}
		if what <= 1 { // restart; the events were all read again, the batch is redelivered
			log = &visit.Log{}
			for _, ev := range known {
				log.Add(clone(ev))
			}
			bay = NewBay(DefaultRules(), log, s)
		}
		changes := again(t, func() ([]Change, error) { return bay.AddEvents(events) })
		s.put(changes)
		changes = again(t, func() ([]Change, error) { return bay.AddEntries(facts) })
		s.put(changes)
		for _, f := range facts {
			s.facts[f.Key] = f
		}
		if what == 2 {
			bay.Forget(morning + int64(rapid.IntRange(0, 240).Draw(t, "forget"))*60*second_)
		}
		if what != 3 { // else redelivered as a whole
			steps = steps[n:]
		}
	}
	return bay
}

func again(t *rapid.T, do func() ([]Change, error)) []Change {
	for range 100 {
		if changes, err := do(); err == nil {
			return changes
		}
	}
	t.Fatal("the store never came back")
	return nil
}

func compareTags(t *rapid.T, want, got map[Key]Tag) {
	t.Helper()
	for k, tag := range want {
		if g, ok := got[k]; !ok || !g.Same(tag) {
			t.Fatalf("%s (there: %v)\nwant %+v\ngot  %+v", k, ok, tag, g)
		}
		if got[k].Version > tag.Version {
			t.Fatalf("%s has version %x, more than all knowledge gives: %x", k, got[k].Version, tag.Version)
		}
	}
	if len(got) != len(want) {
		t.Fatalf("%d tags instead of %d", len(got), len(want))
	}
}

// distinctKeys keeps one fact of each key: what two facts under one key give is
// tested apart, since the store has one row for them.
func distinctKeys(w world) world {
	byKey := map[Key]Fact{}
	for _, f := range w.facts {
		byKey[f.Key] = f
	}
	w.facts = slices.SortedFunc(maps.Values(byKey), preferred)
	return w
}

func TestAnyArrivalGivesTheReference(t *testing.T) {
	if os.Getenv("FAIRLEAD_PROVE") == "" && testing.Short() {
		t.Log("short: fewer seeds")
	}
	rapid.Check(t, func(t *rapid.T) {
		w := distinctKeys(drawWorld(t))
		s := newShelf()
		if rapid.Bool().Draw(t, "flaky") {
			s.fail = func() bool { return rapid.IntRange(0, 3).Draw(t, "fail") == 0 }
		}
		bay := drive(t, w, s)
		compareTags(t, Compute(w.log(), w.facts), s.tags)
		if bay.Log().Len() != len(w.events) {
			t.Fatalf("%d events known instead of %d", bay.Log().Len(), len(w.events))
		}
	})
}
