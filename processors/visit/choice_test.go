package visit

import (
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
