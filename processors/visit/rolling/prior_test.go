package rolling

import (
	"math"
	"strings"
	"testing"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/glossary"
	"fairlead/processors/golf/evidence"
)

// expected is a prior of the fleet for the two clubs of a session.
func expected(w *world, answer string, mean, sd float64) *event.VisitEvent {
	tl := w.log.Timeline()
	return &event.VisitEvent{Session: "s", Body: &event.VisitEvent_PriorTaken{PriorTaken: &event.PriorTaken{
		Pair: Pair("p", "iron", tl.Trial("t1").Build, tl.Trial("t2").Build), ProfileUnixNs: 5e17,
		Priors: []*event.Prior{{Outcome: "carry", Mean: mean, Sd: sd, Doubt: evidence.FleetDoubt, Answer: answer, Players: 214,
			AnsweredUnixNs: 9e17, MarkUnixNs: 8e17}},
	}}}
}

// carryOf is the statement on carry of the only comparison.
func carryOf(t *testing.T, s State) Weighed {
	t.Helper()
	for _, o := range s.Comparisons[0].Outcomes {
		if o.Name == "carry" {
			return o
		}
	}
	t.Fatal("nothing is said of carry")
	return Weighed{}
}

func TestThePriorOfTheFleetIsWeighedAndNamed(t *testing.T) {
	w := newWorld(6, "iron")
	w.enter("own", true, &event.Spec{Field: event.BuildField_BUILD_LOFT, Number: 31})
	for range 10 {
		w.hit(own)
	}
	w.enter("weaker", false, &event.Spec{Field: event.BuildField_BUILD_LOFT, Number: 33})
	for range 8 {
		w.hit(weaker)
	}
	b := NewBuilder()
	finished := func() State {
		b.Build(w.snapshot())
		for b.Refine() {
		}
		return b.Build(w.snapshot())
	}
	weak := carryOf(t, finished())
	if weak.Prior.Fleet() || weak.Prior.Without != nil || weak.Prior.Held != 1 || !strings.HasPrefix(weak.Prior.Text, "weak prior") {
		t.Errorf("without a prior: %+v", weak.Prior)
	}
	w.say(expected(w, "a1", -3, 1.2))
	with := carryOf(t, finished())
	p := with.Prior
	if p.Answer != "a1" || p.Players != 214 || p.Mean != -3 || p.SD != 1.2 || p.Profile != 5e17 || p.Mark != 8e17 || p.Without == nil ||
		p.Surprise == nil {
		t.Fatalf("the prior is not named: %+v", p)
	}
	if !strings.Contains(p.Text, "214 players") || !strings.Contains(p.Text, "-3 m ± 1.2") || p.Disagrees {
		t.Errorf("in words: %s", p.Text)
	}
	if with.EValue != weak.EValue {
		t.Errorf("the prior moved the e-value from %g to %g", weak.EValue, with.EValue)
	}
	if with.High-with.Low >= weak.High-weak.Low || p.Without.ProbBetter != weak.ProbBetter || p.Without.Low != weak.Low {
		t.Errorf("a good prior does not narrow %+v from %+v", with, weak)
	}
	// What was frozen gives the same statement again, without the session.
	again, err := evidence.Compare("iron", evidenceOf(rowsOf(w, 1)), evidenceOf(rowsOf(w, 2)), evidence.Options{
		Priors: map[glossary.Name]evidence.Prior{glossary.Carry: {Mean: p.Mean, SD: p.SD, Doubt: p.Doubt}}})
	if err != nil {
		t.Fatal(err)
	}
	if o, _ := again.Outcome(glossary.Carry); o.Change != with.Change || o.ProbBetter != with.ProbBetter || o.Against.Held != p.Held {
		t.Errorf("computed again %+v, was %+v", o, with)
	}
	// A newer answer counts; one that the shots contradict loses its weight and says so.
	w.say(expected(w, "a2", 25, 1.2))
	wrong := carryOf(t, finished())
	if wrong.Prior.Answer != "a2" || !wrong.Prior.Disagrees || wrong.Prior.Held > 0.01 || math.Abs(wrong.ProbBetter-weak.ProbBetter) > 0.02 ||
		!strings.Contains(wrong.Prior.Text, "disagree") {
		t.Errorf("a wrong prior: %+v", wrong)
	}
	// What was expected of another build does not hold for a corrected one.
	w.say(&event.VisitEvent{Session: "s", Body: &event.VisitEvent_BuildAmended{BuildAmended: &event.BuildAmended{Trial: "t2",
		Build: &event.Build{Name: "weaker", Specs: []*event.Spec{{Field: event.BuildField_BUILD_LOFT, Number: 34}}}}}})
	if o := carryOf(t, finished()); o.Prior.Fleet() {
		t.Errorf("the prior of another build is used: %+v", o.Prior)
	}
}

// A wander that the fleet has learnt is weighed with: of a player who moves more from run
// to run, one long run with either club tells less.
func TestTheWanderOfTheFleetIsWeighed(t *testing.T) {
	width := func(share float64) (float64, Prior) {
		w := newWorld(6, "iron")
		w.enter("own", true, &event.Spec{Field: event.BuildField_BUILD_LOFT, Number: 31})
		for range 10 {
			w.hit(own)
		}
		w.enter("weaker", false, &event.Spec{Field: event.BuildField_BUILD_LOFT, Number: 33})
		for range 8 {
			w.hit(weaker)
		}
		taken := expected(w, "a1", -3, 1.2)
		taken.GetPriorTaken().Priors = nil
		taken.GetPriorTaken().Wanders = []*event.RunWander{{Outcome: "carry", Share: share, Players: 40}, {Outcome: "luck", Share: 1}}
		w.say(taken)
		b := NewBuilder()
		b.Build(w.snapshot())
		for b.Refine() {
		}
		o := carryOf(t, b.Build(w.snapshot()))
		return o.High - o.Low, o.Prior
	}
	still, p := width(0)
	usual, _ := width(evidence.Wander)
	restless, _ := width(1)
	if !(still < usual && usual < restless) || p.WanderPlayers != 40 || p.Fleet() {
		t.Errorf("intervals of %.2f, %.2f and %.2f m; %+v", still, usual, restless, p)
	}
}

// rowsOf are the session's rows of one club.
func rowsOf(w *world, club int) (out []*row) {
	s := w.snapshot()
	for _, r := range rows(&s, s.Timeline.Session("s")) {
		if r.club == club {
			out = append(out, r)
		}
	}
	return out
}

// Priors that can't be used are left out, not passed on.
func TestSpoiledPriorsAreLeftOut(t *testing.T) {
	taken := &event.PriorTaken{Priors: []*event.Prior{
		{Outcome: "carry", Mean: math.NaN(), Sd: 1}, {Outcome: "direction", Mean: 0, Sd: 0}, {Outcome: "luck", Sd: 1},
		{Outcome: "area", Sd: 0.3, Doubt: 1}, {Outcome: "spin", Mean: 1, Sd: 2}}}
	if got := priorsOf("putter", taken); len(got) != 0 {
		t.Errorf("%v", got)
	}
	if got := priorsOf("iron", taken); len(got) != 1 || got[glossary.Spin].Mean != 1 {
		t.Errorf("%v", got)
	}
}
