package tag

import (
	"maps"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"fairlead/deploy/proof"
	"fairlead/ingest/contract/event"
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
		what := rapid.IntRange(0, 9).Draw(t, "what")
		if what == 0 { // dies after computing, before the store took it; then all is delivered again
			bay.AddEvents(t.Context(), events)
			bay.AddEntries(t.Context(), noted(facts...))
		}
		if what <= 1 { // restart; the events were all read again, the batch is redelivered
			log = &visit.Log{}
			for _, ev := range known {
				log.Add(clone(ev))
			}
			bay = NewBay(DefaultRules(), log, s)
		}
		changes := again(t, func() ([]Change, error) { return bay.AddEvents(t.Context(), events) })
		s.put(changes)
		changes = again(t, func() ([]Change, error) { return bay.AddEntries(t.Context(), noted(facts...)) })
		s.put(changes)
		for _, f := range facts {
			s.facts[f.Key] = f
		}
		if what == 2 {
			bay.Forget(morning + int64(rapid.IntRange(0, 240).Draw(t, "forget"))*60*aSecond)
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
		if g, ok := got[k]; !ok || !g.Same(&tag) {
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
	proof.Check(t, func(t *rapid.T) {
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

// Without a store the Bay holds everything.
func TestBayWithoutStore(t *testing.T) {
	proof.Check(t, func(t *rapid.T) {
		w := drawWorld(t) // here with several facts under one key too
		s := newShelf()
		bay := NewBay(DefaultRules(), &visit.Log{}, nil)
		put := func(changes []Change, err error) {
			if err != nil {
				t.Fatal(err)
			}
			for _, c := range changes {
				s.tags[c.Key] = *c.Tag
			}
		}
		for _, f := range rapid.Permutation(append(slices.Clone(w.facts), w.facts...)).Draw(t, "facts") {
			if len(w.events) > 0 && rapid.Bool().Draw(t, "event") {
				put(bay.AddEvents(t.Context(), w.events[:1]))
				w.events = append(w.events[1:], w.events[0])
			}
			put(bay.AddEntries(t.Context(), noted(f)))
			bay.Forget(morning)
		}
		put(bay.AddEvents(t.Context(), w.events))
		want := Compute(w.log(), w.facts)
		for k, tag := range s.tags {
			tag.Version = 0 // does not grow where one key is claimed twice: the store has one row for it
			s.tags[k] = tag
		}
		compareTags(t, want, s.tags)
		if !slices.EqualFunc(bay.Alarms(), alarmsOf(w.facts), func(a, b Alarm) bool { return a.String() == b.String() }) {
			t.Fatalf("alarms %v instead of %v", bay.Alarms(), alarmsOf(w.facts))
		}
	})
}

// Two processes own the bay for a while: each sees the events in the order of
// the stream, one lags, and every entry is given to one of them only. Whoever
// takes over at the end reads the time again, and all is right.
func TestTwoOwners(t *testing.T) {
	proof.Check(t, func(t *rapid.T) {
		w := distinctKeys(drawWorld(t))
		s := newShelf()
		type owner struct {
			bay  *Bay
			next int
		}
		owners := []*owner{{bay: NewBay(DefaultRules(), &visit.Log{}, s)}, {bay: NewBay(DefaultRules(), &visit.Log{}, s)}}
		put := func(changes []Change, err error) {
			if err != nil {
				t.Fatal(err)
			}
			s.put(changes)
		}
		rest := rapid.Permutation(w.facts).Draw(t, "facts")
		for len(rest) > 0 || owners[0].next < len(w.events) {
			o := owners[rapid.IntRange(0, 1).Draw(t, "owner")]
			switch {
			case len(rest) > 0 && rapid.Bool().Draw(t, "entry"):
				put(o.bay.AddEntries(t.Context(), noted(rest[0])))
				s.facts[rest[0].Key] = rest[0]
				rest = rest[1:]
			case o.next < len(w.events):
				put(o.bay.AddEvents(t.Context(), w.events[o.next:o.next+1]))
				o.next++
			}
		}
		put(owners[0].bay.Refresh(t.Context(), morning-1e15, visit.Never))
		compareTags(t, Compute(w.log(), w.facts), s.tags)
	})
}

// More knowledge never gives a smaller version, and another tag from more
// knowledge has a greater one.
func TestVersionGrowsWithKnowledge(t *testing.T) {
	proof.Check(t, func(t *rapid.T) {
		more := distinctKeys(drawWorld(t))
		less := world{}
		for _, ev := range more.events {
			if rapid.IntRange(0, 9).Draw(t, "knows event") > 0 {
				less.events = append(less.events, ev)
			}
		}
		if rapid.Bool().Draw(t, "all events") {
			less.events = more.events
		}
		for _, f := range more.facts {
			if rapid.IntRange(0, 3).Draw(t, "knows entry") > 0 {
				less.facts = append(less.facts, f)
			}
		}
		after := Compute(more.log(), more.facts)
		for k, before := range Compute(less.log(), less.facts) {
			now := after[k]
			if now.Version < before.Version || now.Version == before.Version && !now.Same(&before) {
				t.Fatalf("%s\nknew %+v\nknows %+v", k, before, now)
			}
		}
	})
}

// The drawn worlds reach every state, so the properties speak of all of them.
func TestWorldsReachEveryState(t *testing.T) {
	found := map[Status]int{}
	moved, paired, unsure, swapped, parts := 0, 0, 0, 0, 0
	missing := func() bool {
		return len(found) < len(Statuses()) || moved == 0 || paired == 0 || unsure == 0 || swapped == 0 || parts == 0
	}
	look := func(t *rapid.T) {
		w := drawWorld(t)
		for _, tag := range Compute(w.log(), w.facts) {
			found[tag.Status]++
			if tag.Moved {
				moved++
			}
			if tag.PairedWith != (Key{}) {
				paired++
			}
			if tag.Swap == 1 && tag.OrderInSession > 1 {
				swapped++
			}
			if tag.Part > 1 {
				parts++
			}
		}
		tl := w.log().Timeline()
		for _, f := range w.facts {
			if placed(tl, &f) != f.Effective {
				unsure++
			}
		}
	}
	proof.Check(t, look)
	for range 20 { // a few hundred worlds may lack the rarest state
		if missing() {
			proof.Check(t, look)
		}
	}
	for _, s := range Statuses() {
		if found[s] == 0 {
			t.Errorf("no entry is %s", s)
		}
	}
	if moved == 0 || paired == 0 || unsure == 0 || swapped == 0 || parts == 0 {
		t.Errorf("moved %d, paired %d, unsure %d, swapped %d, in further parts %d", moved, paired, unsure, swapped, parts)
	}
}
