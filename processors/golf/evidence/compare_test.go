package evidence

import (
	"encoding/json"
	"errors"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"fairlead/deploy/proof"
	"fairlead/ingest/contract/glossary"

	"pgregory.net/rapid"
)

// club simulates a trial whose numbers are far apart where asked.
func club(seed uint64, name string, n, from int, carry, spin, directionSD float64) Trial {
	r := rand.New(rand.NewPCG(seed, 1))
	t := Trial{Name: name}
	for i := range n {
		s := Shot{Values: map[Measure]float64{
			CarryM: carry + 5*r.NormFloat64(), SpinRpm: spin + 200*r.NormFloat64(), LaunchDeg: 13 + r.NormFloat64(),
		}}
		s.Values[OfflineM] = s.Values[CarryM] * math.Tan(directionSD*r.NormFloat64()*math.Pi/180)
		if from > 0 {
			s.Position = from + i
		}
		t.Shots = append(t.Shots, s)
	}
	return t
}

func compareOne(t *testing.T, baseline, candidate []Trial, o Options) Report {
	t.Helper()
	r, err := Compare(glossary.Driver, baseline, candidate, o)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func TestMeansDecideBeforeTightness(t *testing.T) {
	r := compareOne(t, []Trial{club(1, "gamer", 8, 0, 220, 3100, 3)}, []Trial{club(2, "head", 8, 0, 221, 2450, 3)}, Options{})
	if first := r.Outcomes[0]; first.Name != glossary.Spin || first.Verdict != Better {
		t.Errorf("first is %s: %s", first.Name, first.Verdict)
	}
	direction, _ := r.Outcome(glossary.Direction)
	if direction.Verdict != CannotTell || direction.Needed.P50 < 20 {
		t.Errorf("direction from eight shots: %s, %+v", direction.Verdict, direction.Needed)
	}
	speed, _ := r.Outcome(glossary.BallSpeed)
	if !speed.NotYet || speed.More != 3 {
		t.Errorf("ball speed was not measured: %+v", speed)
	}
	if last := r.Outcomes[len(r.Outcomes)-1]; !last.NotYet {
		t.Errorf("last is %s", last.Name)
	}
}

func TestFewShots(t *testing.T) {
	for n := 0; n < 3; n++ {
		r := compareOne(t, []Trial{club(1, "gamer", n, 0, 220, 3000, 3)}, []Trial{club(2, "head", 8, 0, 221, 2500, 3)}, Options{})
		for _, name := range []glossary.Name{glossary.Carry, glossary.Spin, glossary.Direction, glossary.Area} {
			if o, _ := r.Outcome(name); !o.NotYet || o.More != 3-n || o.Verdict != CannotTell {
				t.Errorf("n %d, %s: %+v", n, name, o)
			}
		}
		if r.Spread != nil {
			t.Errorf("n %d: a spread was compared", n)
		}
	}
	r := compareOne(t, nil, nil, Options{})
	asked := 0
	for _, o := range glossary.Outcomes() {
		if _, ok := o.Row().In[glossary.Driver]; ok {
			asked++
		}
	}
	if len(r.Outcomes) != asked {
		t.Errorf("no trials: %d outcomes", len(r.Outcomes))
	}
	equal := Trial{Name: "stuck"}
	for range 8 {
		equal.Shots = append(equal.Shots, Shot{Values: map[Measure]float64{CarryM: 200.3, OfflineM: 1.7, SpinRpm: 2500}})
	}
	r = compareOne(t, []Trial{equal}, []Trial{equal}, Options{})
	for _, name := range []glossary.Name{glossary.Carry, glossary.Spin, glossary.Direction, glossary.DistanceControl, glossary.Area} {
		if o, _ := r.Outcome(name); !o.NotYet || o.Why == "" {
			t.Errorf("equal shots, %s: %+v", name, o)
		}
	}
}

func TestInstruction(t *testing.T) {
	gamer, head := club(1, "gamer", 10, 0, 220, 3100, 3), club(2, "head", 10, 0, 232, 2400, 3)
	head.Instructions = 1
	r := compareOne(t, []Trial{gamer}, []Trial{head}, Options{})
	if !r.Order.Confounded || !strings.Contains(strings.Join(r.Doubts, " "), "club and swing changed together") {
		t.Fatalf("%+v", r.Order)
	}
	for _, o := range r.Outcomes {
		if o.Verdict != CannotTell {
			t.Errorf("%s: %s", o.Name, o.Verdict)
		}
	}
	if plan := Next(glossary.Driver, "gamer", []Candidate{{Name: "head", Report: r}}, 6); len(plan.Blocks) != 1 ||
		plan.Blocks[0].Build != "gamer" || plan.Blocks[0].Shots != 6 {
		t.Errorf("next: %+v", plan)
	}
	again := club(3, "gamer again", 10, 0, 231, 2420, 3)
	again.Instructions = 1
	r = compareOne(t, []Trial{gamer, again}, []Trial{head}, Options{})
	spin, _ := r.Outcome(glossary.Spin)
	if r.Order.Confounded || spin.Verdict == Better || spin.NBaseline != 10 {
		t.Errorf("after the incumbent was hit again: %+v, spin %s of %d", r.Order, spin.Verdict, spin.NBaseline)
	}
}

func TestOrderOfHitting(t *testing.T) {
	gamer, head := club(1, "gamer", 10, 1, 220, 3000, 3), club(2, "head", 10, 11, 222, 2900, 3)
	r := compareOne(t, []Trial{gamer}, []Trial{head}, Options{})
	carry, _ := r.Outcome(glossary.Carry)
	if !r.Order.Known || carry.NBaseline != 5 || carry.NCandidate != 8 {
		t.Errorf("%+v: %d and %d count", r.Order, carry.NBaseline, carry.NCandidate)
	}
	r = compareOne(t, []Trial{gamer}, []Trial{head}, Options{WarmUp: -1, Settle: -1})
	aliased, _ := r.Outcome(glossary.Carry)
	if aliased.NBaseline != 10 || aliased.NCandidate != 10 {
		t.Errorf("nothing to leave out: %d and %d count", aliased.NBaseline, aliased.NCandidate)
	}
	for i := range gamer.Shots {
		gamer.Shots[i].Position = 0
	}
	r = compareOne(t, []Trial{gamer}, []Trial{head}, Options{WarmUp: -1, Settle: -1})
	plain, _ := r.Outcome(glossary.Carry)
	if r.Order.Known || len(r.Doubts) == 0 {
		t.Errorf("an unknown order is not said: %+v", r.Doubts)
	}
	if aliased.High-aliased.Low <= plain.High-plain.Low {
		t.Errorf("a drift that may hide behind the club does not widen the interval: %g, %g", aliased.High-aliased.Low, plain.High-plain.Low)
	}
	if _, err := Compare(glossary.Driver, []Trial{club(1, "a", 5, 1, 220, 3000, 3)}, []Trial{club(2, "b", 5, 5, 220, 3000, 3)},
		Options{}); err == nil || !strings.Contains(err.Error(), "position 5") {
		t.Errorf("a position taken twice: %v", err)
	}
}

func TestTarget(t *testing.T) {
	gamer, head := club(1, "gamer", 12, 0, 220, 3100, 3), club(2, "head", 12, 0, 220, 2400, 3)
	for _, c := range []struct {
		target float64
		want   Verdict
	}{{2300, Better}, {3200, Worse}} {
		r := compareOne(t, []Trial{gamer}, []Trial{head},
			Options{Goals: map[glossary.Name]glossary.Goal{glossary.Spin: {Way: glossary.Toward, Target: c.target}}})
		if spin, _ := r.Outcome(glossary.Spin); spin.Verdict != c.want {
			t.Errorf("target %g: %s (%.3f)", c.target, spin.Verdict, spin.ProbBetter)
		}
	}
	// Halfway between: as far above as below; nearer is a toss, and the distance the same.
	r := compareOne(t, []Trial{gamer}, []Trial{head},
		Options{Goals: map[glossary.Name]glossary.Goal{glossary.Spin: {Way: glossary.Toward, Target: 2750}}})
	if spin, _ := r.Outcome(glossary.Spin); spin.Verdict == Better || spin.Verdict == Worse {
		t.Errorf("target halfway: %s (%.3f)", spin.Verdict, spin.ProbBetter)
	}
}

func TestTradeIsShownNotScored(t *testing.T) {
	r := compareOne(t, []Trial{club(1, "gamer", 40, 0, 215, 3000, 2.2)}, []Trial{club(4, "long shaft", 40, 0, 226, 3000, 3.8)}, Options{})
	if r.Trade == nil || !strings.HasPrefix(r.Trade.Statement, "longer but wider") || r.Trade.WidthChange <= 0 {
		t.Errorf("%+v", r.Trade)
	}
	if r = compareOne(t, []Trial{club(4, "gamer", 40, 0, 226, 3000, 3.8)}, []Trial{club(1, "short shaft", 40, 0, 215, 3000, 2.2)},
		Options{}); r.Trade == nil || !strings.HasPrefix(r.Trade.Statement, "shorter but tighter") {
		t.Errorf("%+v", r.Trade)
	}
}

func TestSameIsAFinding(t *testing.T) {
	var gamer, head []Trial
	for run := range uint64(8) { // in turn
		gamer, head = append(gamer, club(2*run+1, "gamer", 8, 0, 220, 3000, 3)), append(head, club(2*run+2, "head", 8, 0, 220.3, 3010, 3))
	}
	r := compareOne(t, gamer, head, Options{})
	if spin, _ := r.Outcome(glossary.Spin); spin.Verdict != Same {
		t.Errorf("spin: %s (same with %.3f)", spin.Verdict, spin.ProbSame)
	}
}

func TestMishitsAreSaid(t *testing.T) {
	gamer, head := club(1, "gamer", 14, 0, 220, 3000, 3), club(2, "head", 14, 0, 220, 3000, 3)
	head.Shots[3].Values[CarryM], head.Shots[3].Values[OfflineM] = 140, 45
	head.Shots[9].Values[CarryM], head.Shots[9].Values[OfflineM] = 150, -50
	r := compareOne(t, []Trial{gamer}, []Trial{head}, Options{})
	area, _ := r.Outcome(glossary.Area)
	if area.EValue > 5 || area.Verdict != CannotTell || !strings.Contains(strings.Join(r.Doubts, "\n"),
		"2 of 28 shots, 0 with the baseline and 2 with the candidate") {
		t.Errorf("area: e %.1f, %s, %q", area.EValue, area.Verdict, r.Doubts)
	}
	all := question{name: glossary.Area, tau: 0.45}
	e, _, _ := all.tightness(glossary.Driver, placedOf(t, gamer, head))
	if ev := e.eValue(all.tau); ev < 20 {
		t.Errorf("two mishits move the area's e-value to %.1f only: the check above can't fail", ev)
	}
}

func placedOf(t *testing.T, baseline, candidate Trial) []placed {
	t.Helper()
	shots, _, err := arrange([]Trial{baseline}, []Trial{candidate}, 0, 0)
	if err != nil {
		t.Fatal(err)
	}
	return shots
}

func TestPlanPrefersWhatItCanDecide(t *testing.T) {
	gamer := club(1, "gamer", 10, 0, 220, 3000, 3)
	near := compareOne(t, []Trial{gamer}, []Trial{club(2, "near", 10, 0, 233, 3000, 3)}, Options{})
	far := compareOne(t, []Trial{gamer}, []Trial{club(3, "even", 10, 0, 221, 3000, 3)}, Options{})
	bad := compareOne(t, []Trial{gamer}, []Trial{club(4, "bad", 12, 0, 190, 3000, 3)}, Options{})
	plan := Next(glossary.Driver, "gamer", []Candidate{{"even", far, 30}, {"near", near, 20}, {"bad", bad, 40}}, 0)
	if len(plan.Blocks) != 3 || plan.Blocks[0].Build != "near" || plan.Blocks[1].Build != "even" || plan.Blocks[2].Build != "gamer" {
		t.Errorf("%+v", plan.Blocks)
	}
	for _, b := range plan.Blocks {
		if b.Shots != 5 || b.Why == "" {
			t.Errorf("%+v", b)
		}
	}
	if plan.Buys[0].Build != "near" || plan.Buys[0].Outcome != glossary.Carry {
		t.Errorf("%+v", plan.Buys)
	}
}

func TestBadInputIsNamed(t *testing.T) {
	good := club(1, "gamer", 5, 0, 220, 3000, 3)
	for m, v := range map[Measure]float64{CarryM: math.NaN(), SpinRpm: -4, LaunchDeg: math.Inf(1), StrikeXM: 12} {
		bad := club(2, "head", 5, 0, 220, 3000, 3)
		bad.Shots[2].Values[m] = v
		_, err := Compare(glossary.Driver, []Trial{good}, []Trial{bad}, Options{})
		var e *ShotError
		if !errors.As(err, &e) || e.Trial != "head" || e.Index != 2 || e.Measure != m {
			t.Errorf("%s %g: %v", m, v, err)
		}
	}
	for _, o := range []Options{{Alpha: 2}, {Priors: map[glossary.Name]Prior{glossary.Carry: {SD: 0}}},
		{Priors: map[glossary.Name]Prior{glossary.Carry: {Mean: math.NaN(), SD: 1}}},
		{Goals: map[glossary.Name]glossary.Goal{glossary.Area: {Way: glossary.Toward}}}} {
		if _, err := Compare(glossary.Driver, []Trial{good}, []Trial{good}, o); err == nil {
			t.Errorf("%+v passed", o)
		}
	}
	if _, err := Compare("spoon", nil, nil, Options{}); err == nil {
		t.Error("unknown category passed")
	}
}

// Whatever is measured, the report has only numbers in it, and a mirrored
// left-hander's is the same to the last bit.
func TestMirrorAndNoNaN(t *testing.T) {
	proof.Check(t, func(t *rapid.T) {
		trial := func(name string) Trial {
			out := Trial{Name: name}
			coarse := rapid.Bool().Draw(t, "coarse")
			for range rapid.IntRange(0, 12).Draw(t, "n") {
				s := Shot{Values: map[Measure]float64{}}
				for _, r := range ranges {
					if !rapid.Bool().Draw(t, "measured") {
						continue
					}
					v := rapid.Float64Range(r.low, r.high).Draw(t, string(r.measure))
					if coarse {
						v = math.Round(v/r.high) * r.high
					}
					if r.measure == CarryM {
						v = max(v, 1)
					}
					s.Values[r.measure] = v
				}
				out.Shots = append(out.Shots, s)
			}
			return out
		}
		a, b := trial("a"), trial("b")
		category := rapid.SampledFrom(glossary.Categories()).Draw(t, "category")
		r, err := Compare(category, []Trial{a}, []Trial{b}, Options{})
		if err != nil {
			t.Fatal(err)
		}
		text, err := json.Marshal(r)
		if err != nil {
			t.Fatalf("a value is no number: %v", err)
		}
		m, err := Compare(category, []Trial{a.Handed(true)}, []Trial{b.Handed(true)}, Options{})
		if err != nil {
			t.Fatal(err)
		}
		for i, o := range r.Outcomes {
			if n := m.Outcomes[i]; n.Name != o.Name || n.Verdict != o.Verdict || math.Abs(n.EValue-o.EValue) > 1e-9*o.EValue ||
				math.Abs(n.ProbBetter-o.ProbBetter) > 1e-9 {
				t.Fatalf("%+v\nmirrored %+v", o, n)
			}
		}
		back, err := Compare(category, []Trial{a.Handed(true).Handed(true)}, []Trial{b.Handed(true).Handed(true)}, Options{})
		if err != nil {
			t.Fatal(err)
		}
		if again, _ := json.Marshal(back); string(again) != string(text) {
			t.Fatalf("handed\n%s\n%s", text, again)
		}
		plan := Next(category, "a", []Candidate{{Name: "b", Report: r}}, 5)
		if _, err := json.Marshal(plan); err != nil {
			t.Fatal(err)
		}
	})
}
