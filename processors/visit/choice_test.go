package visit

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"fairlead/ingest/contract/event"
)

// The lot takes one of what was named, says among what and with which chance, goes on
// with a trial of the session, and draws the club in hand again as a part of its own.
func TestTheLotIsDrawnAndKept(t *testing.T) {
	log := &Log{}
	at := int64(1_000_000_000)
	add := func(ev *event.VisitEvent) {
		at += 1_000_000_000
		ev.Id, ev.Session, ev.EffectiveUnixNs, ev.RecordedUnixNs = "e-"+strings.Repeat("x", len(log.Events())+1), "s1", at, at
		log.Add(ev)
	}
	add(&event.VisitEvent{Body: &event.VisitEvent_SessionOpened{SessionOpened: &event.SessionOpened{Player: "p-001", Category: "iron"}}})
	for _, id := range []string{"own", "long"} {
		add(&event.VisitEvent{Body: &event.VisitEvent_TrialStarted{TrialStarted: &event.TrialStarted{Trial: id, Build: &event.Build{Name: id},
			Choice: &event.Choice{Why: event.Why_WHY_PLAYER}}}})
	}
	for want, lot := range []int{0, 1} {
		place := &Place{Bay: "north", Timeline: log.Timeline(), Lot: func(n int) int {
			if n != 2 {
				t.Fatalf("drawn among %d", n)
			}
			return lot
		}}
		ev, faults := Read("draw", Input{"among": {"own", "long"}}, place)
		if len(faults) > 0 {
			t.Fatal(faults)
		}
		s := ev.GetTrialStarted()
		if id := []string{"own", "long"}[want]; s.Trial != id || s.Choice.Chance != 0.5 || len(s.Choice.Offered) != 2 || s.Build.Name != id {
			t.Fatalf("drawn: %v", s)
		}
		add(ev)
	}
	again := &event.TrialStarted{Trial: "long", Build: &event.Build{Name: "long"},
		Choice: &event.Choice{Why: event.Why_WHY_DRAWN, Offered: []string{"own", "long"}, Chance: 0.5}}
	add(&event.VisitEvent{Body: &event.VisitEvent_TrialStarted{TrialStarted: again}})
	add(&event.VisitEvent{Body: &event.VisitEvent_InstructionNoted{InstructionNoted: &event.InstructionNoted{Words: "slower"}}})
	tl := log.Timeline()
	if own, long := tl.Trial("own"), tl.Trial("long"); len(own.Parts) != 2 || len(long.Parts) != 4 {
		t.Fatalf("parts: %d and %d", len(own.Parts), len(long.Parts))
	}
	for i, want := range []string{"the player's wish", "drawn by lot, one of 2", "drawn by lot, one of 2", "drawn by lot, one of 2"} {
		if got := WhyText(tl.Trial("long").Parts[i].Choice); got != want {
			t.Errorf("part %d: %q, want %q", i+1, got, want)
		}
	}
}

// Near equals are drawn as often as their chances say, and the chance is kept; who
// weighs what was drawn by its inverse counts each of them once.
func TestNearEqualsAreDrawnByTheirChances(t *testing.T) {
	log := &Log{}
	log.Add(&event.VisitEvent{Id: "e1", Session: "s1", EffectiveUnixNs: 1, RecordedUnixNs: 1,
		Body: &event.VisitEvent_SessionOpened{SessionOpened: &event.SessionOpened{Player: "p-001", Category: "iron"}}})
	for i, id := range []string{"own", "long", "stiff", "light"} {
		log.Add(&event.VisitEvent{Id: "t" + id, Session: "s1", EffectiveUnixNs: int64(2 + i), RecordedUnixNs: int64(2 + i),
			Body: &event.VisitEvent_TrialStarted{TrialStarted: &event.TrialStarted{Trial: id, Build: &event.Build{Name: id}}}})
	}
	lots := []Lot{{"long", 0.5}, {"stiff", 0.3}, {"light", 0.2}}
	r := rand.New(rand.NewPCG(14, 3))
	place := &Place{Bay: "north", Timeline: log.Timeline(), Lot: r.IntN, Next: func() []Lot { return lots }}
	const times = 4000
	drawn, weighed := map[string]float64{}, map[string]float64{}
	for range times {
		ev, faults := Read("draw", Input{"next": {"yes"}}, place)
		if len(faults) > 0 {
			t.Fatal(faults)
		}
		s := ev.GetTrialStarted()
		if s.Choice.Why != event.Why_WHY_DRAWN || !slices.Equal(s.Choice.Offered, []string{"long", "stiff", "light"}) || s.Build.Name != s.Trial {
			t.Fatalf("drawn: %v", s)
		}
		drawn[s.Trial]++
		weighed[s.Trial] += 1 / s.Choice.Chance / times
	}
	for _, l := range lots {
		if sd := math.Sqrt(times * l.Chance * (1 - l.Chance)); math.Abs(drawn[l.Trial]-times*l.Chance) > 4*sd {
			t.Errorf("%s was drawn %v times of %d, with a chance of %v", l.Trial, drawn[l.Trial], times, l.Chance)
		}
		if math.Abs(weighed[l.Trial]-1) > 0.15 {
			t.Errorf("%s counts for %.2f", l.Trial, weighed[l.Trial])
		}
	}
	unequal := WhyText(&event.Choice{Why: event.Why_WHY_DRAWN, Offered: []string{"a", "b", "c"}, Chance: 0.5})
	if unequal != "drawn by lot among 3, with a chance of 50 %" {
		t.Error(unequal)
	}
	// The last of them is drawn at the very end of the scale, and none beyond it.
	place.Lot = func(n int) int { return n - 1 }
	if ev, faults := Read("draw", Input{"next": {"yes"}}, place); len(faults) > 0 || ev.GetTrialStarted().Trial != "light" {
		t.Error(ev, faults)
	}
	for name, bad := range map[string]func(){
		"one lot": func() { lots = lots[:1] }, "no lot": func() { lots = nil },
		"a trial that is gone": func() { lots = []Lot{{"x", 0.5}, {"y", 0.5}} },
		"nobody who knows":     func() { place.Next = nil },
	} {
		kept := *place
		bad()
		if _, faults := Read("draw", Input{"next": {"yes"}}, place); len(faults) == 0 || faults[0].Field != "next" {
			t.Errorf("%s: %v", name, faults)
		}
		*place = kept
	}
	if _, faults := Read("draw", Input{"next": {"yes"}, "among": {"own", "long"}}, place); len(faults) == 0 {
		t.Error("both ways at once")
	}
}

// What can't be drawn is refused, with what to try.
func TestWhatIsNoLot(t *testing.T) {
	log := &Log{}
	log.Add(&event.VisitEvent{Id: "e1", Session: "s1", EffectiveUnixNs: 1, RecordedUnixNs: 1,
		Body: &event.VisitEvent_SessionOpened{SessionOpened: &event.SessionOpened{Player: "p-001", Category: "iron"}}})
	log.Add(&event.VisitEvent{Id: "e2", Session: "s1", EffectiveUnixNs: 2, RecordedUnixNs: 2,
		Body: &event.VisitEvent_TrialStarted{TrialStarted: &event.TrialStarted{Trial: "own", Build: &event.Build{Name: "own"}}}})
	place := &Place{Bay: "north", Timeline: log.Timeline(), Lot: func(int) int { return 0 }}
	for _, names := range [][]string{nil, {"own"}, {"own", "own"}, {"own", "nowhere"}} {
		if _, faults := Read("draw", Input{"among": names}, place); len(faults) == 0 {
			t.Errorf("a lot among %v is drawn", names)
		}
	}
	if _, faults := Read("trial", Input{"why": {"drawn"}, "set": {"loft=31deg"}}, place); len(faults) == 0 {
		t.Error("that a club was drawn can be claimed")
	}
	for _, c := range []*event.Choice{{Why: event.Why_WHY_DRAWN, Chance: 0.5}, {Why: event.Why_WHY_FITTER, Chance: 0.5},
		{Why: event.Why_WHY_DRAWN, Offered: []string{"a", "b"}, Chance: 1}, {Why: 99}} {
		started := &event.TrialStarted{Trial: "t", Build: &event.Build{Name: "x"}, Choice: c}
		ev := &event.VisitEvent{Body: &event.VisitEvent_TrialStarted{TrialStarted: started}}
		of := func(f *event.Fault) bool { return slices.Contains([]string{"why", "chance", "offered"}, f.Field) }
		if !slices.ContainsFunc(Validate(ev, visitNow), of) {
			t.Errorf("%v is taken", c)
		}
	}
}
