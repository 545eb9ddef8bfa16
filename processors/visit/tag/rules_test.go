package tag

import (
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"

	"fairlead/ingest/contract/event"
	"fairlead/processors/visit"
)

// keptDay is a day of two sessions that a Bay holds whole and a shelf has stored:
// a with shots 1 to 3, b with 4 and 5, a again with 6; later c with 7.
type keptDay struct {
	bayDay
	names map[Key]string
	shelf *shelf
	bay   *Bay
}

func newKeptDay(t *testing.T) *keptDay {
	d := &keptDay{names: map[Key]string{}, shelf: newShelf()}
	d.open(0, "s")
	d.event(10, "", startOf("a"))
	for i, at := range []float64{20, 30, 40, 60, 70, 90, 220} {
		switch i {
		case 3:
			d.event(50, "", startOf("b"))
		case 5:
			d.event(80, "", startOf("a'"))
		case 6:
			d.event(100, "", func(ev *event.VisitEvent) { ev.Body = &event.VisitEvent_SessionClosed{} })
			d.open(200, "r")
			d.event(210, "", startOf("c"))
		}
		d.shot(at, fmt.Sprint(i+1))
	}
	for i, f := range d.facts {
		d.shelf.facts[f.Key], d.names[f.Key] = f, fmt.Sprint(i+1)
	}
	d.bay = NewBay(DefaultRules(), copied(&d.log), d.shelf)
	d.took(t)(d.bay.Refresh(t.Context(), morning-1, morning+1000*aSecond))
	return d
}

// copied is a Bay's own log: the day's stays as it is, for the whole to be computed from.
func copied(of *visit.Log) *visit.Log {
	log := &visit.Log{}
	for _, ev := range of.All() {
		log.Add(ev)
	}
	return log
}

// took stores what was told again, and names it.
func (d *keptDay) took(t *testing.T) func([]Change, error) string {
	return func(changes []Change, err error) string {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		d.shelf.put(changes)
		var told []string
		for _, c := range changes {
			told = append(told, d.names[c.Key])
		}
		slices.Sort(told)
		return strings.Join(told, " ")
	}
}

// right says whether what is stored is what the whole computes to.
func (d *keptDay) right(t *testing.T) {
	t.Helper()
	want := Compute(&d.log, slices.Collect(maps.Values(d.shelf.facts)))
	for k, tag := range want {
		if got := d.shelf.tags[k]; got.Status != tag.Status || got.Trial != tag.Trial || got.Session != tag.Session ||
			got.OrderInTrial != tag.OrderInTrial || got.OrderInSession != tag.OrderInSession || got.Swap != tag.Swap {
			t.Errorf("shot %s is stored as %s %s %d/%d, and is %s %s %d/%d", d.names[k], got.Status, got.Trial, got.OrderInTrial,
				got.OrderInSession, tag.Status, tag.Trial, tag.OrderInTrial, tag.OrderInSession)
		}
	}
}

func excludeOf(shots ...string) func(*event.VisitEvent) {
	return func(ev *event.VisitEvent) {
		ev.Body = &event.VisitEvent_ShotsExcluded{ShotsExcluded: &event.ShotsExcluded{ShotIds: raw(shots...), Reason: "thinned"}}
	}
}

// What an event or an entry reaches is told again, and nothing else is.
func TestWhatIsReached(t *testing.T) {
	events := func(d *keptDay, events ...*event.VisitEvent) func(*testing.T) ([]Change, error) {
		return func(t *testing.T) ([]Change, error) { return d.bay.AddEvents(t.Context(), events) }
	}
	entry := func(d *keptDay, f Fact) func(*testing.T) ([]Change, error) {
		d.shelf.facts[f.Key] = f
		if d.names[f.Key] == "" {
			d.names[f.Key] = "new"
		}
		return func(t *testing.T) ([]Change, error) { return d.bay.AddEntries(t.Context(), noted(f)) }
	}
	for name, c := range map[string]struct {
		do   func(*keptDay) func(*testing.T) ([]Change, error)
		want string
	}{
		"a swap entered late reaches the rest of its trial, and whoever was swapped to after it": {
			func(d *keptDay) func(*testing.T) ([]Change, error) {
				return events(d, d.event(35, "", startOf("late")))
			}, "3 4 5 6"},
		"a swap at the end of a session stays in it": {
			func(d *keptDay) func(*testing.T) ([]Change, error) {
				return events(d, d.event(85, "", startOf("late")))
			}, "6"},
		"a shot left out keeps its place, and reaches itself": {
			func(d *keptDay) func(*testing.T) ([]Change, error) {
				return events(d, d.event(110, "s", excludeOf("2")))
			}, "2"},
		"a shot moved to another session reaches both": {
			func(d *keptDay) func(*testing.T) ([]Change, error) {
				return events(d, d.event(230, "", moveOf("c", "6")))
			}, "6 7"},
		"a trial's start that is known reaches what it reached: trials have numbers through the visit": {
			func(d *keptDay) func(*testing.T) ([]Change, error) { return events(d, clone(d.log.All()[1])) }, "1 2 3 4 5 6 7"},
		"a repeat reaches itself": {
			func(d *keptDay) func(*testing.T) ([]Change, error) {
				f := d.facts[1]
				f.Key.Journal, f.Received = "k", f.Received+500*aSecond
				return entry(d, f)
			}, "new"},
		"an entry that is known is told again alone": {
			func(d *keptDay) func(*testing.T) ([]Change, error) { return entry(d, d.facts[6]) }, "7"},
		"a shot that comes late reaches those after it": {
			func(d *keptDay) func(*testing.T) ([]Change, error) { return entry(d, *d.shot(65, "late")) }, "5 6 new"},
		"a look at the store tells the sessions that it looked at, and none that begins where it ended": {
			func(d *keptDay) func(*testing.T) ([]Change, error) {
				return func(t *testing.T) ([]Change, error) {
					return d.bay.Refresh(t.Context(), morning+20*aSecond, morning+200*aSecond)
				}
			}, "1 2 3 4 5 6"},
		"nor one that ended where it began": {
			func(d *keptDay) func(*testing.T) ([]Change, error) {
				return func(t *testing.T) ([]Change, error) {
					return d.bay.Refresh(t.Context(), morning+100*aSecond, morning+150*aSecond)
				}
			}, ""},
		"a shot of no session reaches itself": {
			func(d *keptDay) func(*testing.T) ([]Change, error) { return entry(d, *d.shot(150, "between")) }, "new"},
	} {
		t.Run(name, func(t *testing.T) {
			d := newKeptDay(t)
			if got := d.took(t)(c.do(d)(t)); got != c.want {
				t.Errorf("told again: %s, not %s", got, c.want)
			}
			d.right(t)
		})
	}
}

// Whichever question to the store fails, what was asked for says so, and once the store
// answers again all is told that ought to be.
func TestAStoreThatFailsIsSaid(t *testing.T) {
	for name, do := range map[string]func(*testing.T, *keptDay, *Bay) ([]Change, error){
		"an entry": func(t *testing.T, d *keptDay, b *Bay) ([]Change, error) {
			return b.AddEntries(t.Context(), noted(d.facts[1]))
		},
		"a correction": func(t *testing.T, d *keptDay, b *Bay) ([]Change, error) {
			return b.AddEvents(t.Context(), []*event.VisitEvent{d.event(110, "s", excludeOf("2"))})
		},
		"a look at the store": func(t *testing.T, d *keptDay, b *Bay) ([]Change, error) {
			return b.Refresh(t.Context(), morning+15*aSecond, morning+45*aSecond)
		},
	} {
		d := newKeptDay(t)
		for fails := 1; ; fails++ {
			b := NewBay(DefaultRules(), copied(&d.log), d.shelf)
			left := fails
			d.shelf.fail = func() bool { left--; return left == 0 }
			_, err := do(t, d, b)
			if left > 0 { // it asked less often
				if err != nil || fails < 3 {
					t.Errorf("%s: after %d questions: %v", name, fails-1-left, err)
				}
				break
			}
			if err == nil {
				t.Errorf("%s: the store failed at question %d, and nothing was said", name, fails)
			}
			d.shelf.fail = nil
			d.took(t)(do(t, d, b))
		}
		d.right(t)
	}
}

// What is let go, and what stays.
func TestWhatIsReleased(t *testing.T) {
	d := newKeptDay(t)
	unsure := *d.shot(25, "unsure")
	unsure.Unsure = true
	d.names[unsure.Key], d.shelf.facts[unsure.Key] = "unsure", unsure
	d.took(t)(d.bay.AddEntries(t.Context(), noted(unsure)))
	name := func(notes []any) string {
		var all []string
		for _, n := range notes {
			all = append(all, d.names[n.(Key)])
		}
		slices.Sort(all)
		return strings.Join(all, " ")
	}
	held := d.bay.Held()
	if got := name(d.bay.Forget(morning + 60*aSecond)); got != "" || d.bay.Held() != held {
		t.Errorf("an instant within a session let go of: %s; %d of %d are held", got, d.bay.Held(), held)
	}
	d.shelf.fail = func() bool { return true }
	d.bay.loaded = nil // as of a Bay that took over and holds part of it
	late := d.event(300, "s", excludeOf("2"))
	if _, err := d.bay.AddEvents(t.Context(), []*event.VisitEvent{late}); err == nil {
		t.Fatal("the store was not asked")
	}
	if got := name(d.bay.Forget(morning + 210*aSecond)); got != "" {
		t.Errorf("before what is marked was tagged it let go of: %s", got)
	}
	d.shelf.fail = nil
	d.took(t)(d.bay.AddEvents(t.Context(), nil))
	d.right(t)
	if got := name(d.bay.Forget(morning + 210*aSecond)); got != "1 2 3 4 5 6" {
		t.Errorf("of the session that is over it let go of: %s", got)
	}
	if d.bay.Held() != 2 || d.bay.Note(unsure.Key) != unsure.Key || d.bay.Note(d.facts[0].Key) != nil {
		t.Errorf("%d entries are held: the open session's one and the one of unsure time stay", d.bay.Held())
	}
	asked := d.shelf.asked
	d.took(t)(d.bay.AddEvents(t.Context(), []*event.VisitEvent{d.event(310, "s", excludeOf("4"))}))
	if d.shelf.asked == asked {
		t.Error("what a correction needs was not loaded again")
	}
	d.right(t)
	alone := NewBay(DefaultRules(), &visit.Log{}, nil)
	if _, err := alone.AddEntries(t.Context(), noted(d.facts[0])); err != nil {
		t.Fatal(errors.Join(err, errors.New("a Bay without a store")))
	}
	if alone.Forget(morning+1000*aSecond) != nil || alone.Held() != 1 {
		t.Error("a Bay without a store let go of what nobody else has")
	}
}
