package tag

import (
	"fmt"
	"slices"
	"testing"

	"fairlead/ingest/contract/event"
	"fairlead/processors/visit"
)

// Moving a shot away from the session that it was moved to changes the order
// there, though neither the shot's own time nor its new trial lies in it.
func TestMovingOnRenumbersWhatItLeaves(t *testing.T) {
	d := &bayDay{}
	d.open(0, "s")
	d.event(10, "", startOf("a"))
	d.shot(20, "1")
	d.open(100, "r")
	d.event(110, "", startOf("b"))
	d.shot(120, "2")
	d.event(200, "", moveOf("b", "1"))
	s := newShelf()
	for _, f := range d.facts {
		s.facts[f.Key] = f
	}
	bay := NewBay(DefaultRules(), &d.log, s)
	moved := d.facts[1].Key
	tags, err := bay.Refresh(t.Context(), morning, morning+1000*aSecond)
	if err != nil {
		t.Fatal(err)
	}
	s.put(tags)
	if got := s.tags[moved].OrderInTrial; got != 2 {
		t.Fatalf("behind the moved shot it is number %d", got)
	}
	onward := d.event(210, "", moveOf("a", "1"))
	other := &visit.Log{}
	for _, ev := range d.log.All() {
		if ev != onward {
			other.Add(ev)
		}
	}
	bay = NewBay(DefaultRules(), other, s) // a new process that holds nothing
	tags, err = bay.AddEvents(t.Context(), []*event.VisitEvent{onward})
	if err != nil {
		t.Fatal(err)
	}
	s.put(tags)
	if got := s.tags[moved].OrderInTrial; got != 1 {
		t.Errorf("after the shot was moved on it is number %d", got)
	}
}

// A repeat of an old shot does not make the Bay load the old session.
func TestRepeatOfAnOldShotLoadsNoSession(t *testing.T) {
	d := &bayDay{}
	d.open(0, "s")
	d.event(10, "", startOf("a"))
	for i := range 50 {
		d.shot(20+float64(i)*5, string(rune('A'+i)))
	}
	s := newShelf()
	for _, f := range d.facts {
		s.facts[f.Key] = f
	}
	d.open(100_000, "r")
	bay := NewBay(DefaultRules(), &d.log, s)
	again := d.facts[3]
	again.Key.Journal = "k"
	again.Received += 100_000 * aSecond
	again.Effective = again.Received
	changes, err := bay.AddEntries(t.Context(), noted(again))
	if err != nil {
		t.Fatal(err)
	}
	if len(changes) != 1 || changes[0].Tag.Status != Repeat || changes[0].Tag.Of != d.facts[3].Key {
		t.Errorf("changes: %+v", changes)
	}
	if bay.Held() != 2 {
		t.Errorf("%d entries are held", bay.Held())
	}
}

// Entries that another owner wrote are found when the time is read again, also
// the earlier ones of shots that are held already.
func TestRefreshFindsWhatAnotherOwnerWrote(t *testing.T) {
	d := &bayDay{}
	d.open(0, "s")
	d.event(10, "", startOf("a"))
	first, second := *d.shot(20, "1"), *d.shot(5000, "1")
	first.Content, second.Content = 7, 7
	s := newShelf()
	bay := NewBay(DefaultRules(), &d.log, s)
	if changes, err := bay.AddEntries(t.Context(), noted(second)); err != nil || changes[0].Tag.Status != Counts {
		t.Fatalf("%v %v", changes, err)
	}
	s.facts[first.Key], s.facts[second.Key] = first, second
	d.event(4000, "", startOf("b"))
	changes, err := bay.Refresh(t.Context(), second.Effective-aSecond, second.Effective+aSecond)
	if err != nil {
		t.Fatal(err)
	}
	s.put(changes)
	if s.tags[second.Key].Status != Repeat || s.tags[first.Key].Status != Counts {
		t.Errorf("tags: %+v", s.tags)
	}
}

// One shot at a time, as a bay gives them: the whole session is tagged anew.
func BenchmarkShot(b *testing.B) {
	d := &bayDay{}
	d.open(0, "s")
	d.event(10, "", startOf("a"))
	for i := range 60 {
		d.shot(20+float64(i)*20, fmt.Sprint(i))
	}
	bay := NewBay(DefaultRules(), &d.log, nil)
	if _, err := bay.AddEntries(b.Context(), noted(d.facts...)); err != nil {
		b.Fatal(err)
	}
	last := noted(d.facts[len(d.facts)-1:]...)
	for b.Loop() {
		if _, err := bay.AddEntries(b.Context(), last); err != nil {
			b.Fatal(err)
		}
	}
}

// A backlog in batches of 500, a session of 60 shots after the other.
func BenchmarkBacklog(b *testing.B) {
	d := &bayDay{}
	const sessions = 200
	for s := range sessions {
		d.open(s*3600, fmt.Sprint("s", s))
		d.event(s*3600+1, "", startOf(fmt.Sprint("t", s)))
		for i := range 60 {
			d.shot(float64(s*3600+20+i*20), fmt.Sprint(s, "/", i))
		}
	}
	facts := noted(d.facts...)
	for b.Loop() {
		bay := NewBay(DefaultRules(), &d.log, nil)
		for batch := range slices.Chunk(facts, 500) {
			if _, err := bay.AddEntries(b.Context(), batch); err != nil {
				b.Fatal(err)
			}
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*len(facts)), "ns/entry")
}
