package sheets

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"fairlead/dashboards/figure"
	"fairlead/deploy/proof"
	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/glossary"
	"fairlead/processors/golf/club"
	"fairlead/processors/visit/rolling"
)

func TestATradeIsToldInThePlayersUnits(t *testing.T) {
	c := &rolling.Comparison{Name: "Fulmar", AgainstOf: "own club", Trade: "longer but wider: 9.1 m more carry, and so on",
		Outcomes: []rolling.Weighed{
			{Name: "carry", Unit: "m", Baseline: 200, Change: 9.144, Low: 4, High: 14, ProbBetter: .99, Verdict: "better", Primary: true},
			{Name: "direction", Unit: "ln", Baseline: 3, Change: math.Log(1.5), Low: .1, High: .7, ProbBetter: .03, Verdict: "worse",
				Primary: true}}}
	f := finding(c, glossary.Driver, Units{Imperial: true})
	// Widths by hand: 200 tan 3° = 10.48 m = 11.5 yd; 209.144 tan 4.5° = 16.46 m = 18 yd.
	if !strings.HasPrefix(f.Trade, "A trade: longer but wider. About +10\u00a0yd of carry, and two shots in three within 18\u00a0yd of the "+
		"middle of their line instead of 11.5\u00a0yd.") {
		t.Error(f.Trade)
	}
	if f.Headline != "Carry longer; direction scatter wider." {
		t.Error(f.Headline)
	}
	if s := f.Outcomes[1]; s.Text != "Wider: 50\u00a0% wider, range 11\u00a0% to 101\u00a0% wider. Odds that it is tighter: 3 in 100." ||
		s.Mark != "▼" {
		t.Errorf("%+v", s)
	}
	c.Confounded = true
	if f := finding(c, glossary.Driver, Units{}); !f.Mixed || f.Trade != "" || !strings.Contains(f.Headline, "can't be put down to the club") {
		t.Errorf("%+v", f)
	}
	if f := finding(&rolling.Comparison{Blocked: "the incumbent was not hit yet"}, glossary.Driver,
		Units{}); f.Headline != "Not compared. The own club was not hit yet." {
		t.Error(f.Headline)
	}
}

func TestFewShotsSaySo(t *testing.T) {
	s := statement(rolling.Weighed{Name: "direction", NotYet: true, More: 3, Verdict: "cannot tell yet"}, glossary.Iron, Units{})
	if s.Text != "Too few shots to say anything: 3 more would be needed." || s.Change != nil {
		t.Errorf("%+v", s)
	}
	s = statement(rolling.Weighed{Name: "carry", Change: 3, Low: 1, High: 5, ProbBetter: .97, Verdict: "cannot tell yet", NeedP50: 12},
		glossary.Iron, Units{})
	if !strings.Contains(s.Text, "lean that way") || !strings.Contains(s.Text, "About 12 more shots") {
		t.Error(s.Text)
	}
}

// Whatever was entered for a build, a sheet is made of finite numbers, and what
// is printed as passing is within the tolerance.
func TestAnyBuildMakesASheet(t *testing.T) {
	proof.Check(t, func(t *rapid.T) {
		build := func(name string) *event.Build {
			b := &event.Build{Gamer: rapid.Bool().Draw(t, name)}
			for _, info := range event.BuildFields() {
				if !rapid.Bool().Draw(t, info.Name) {
					continue
				}
				s := &event.Spec{Field: info.Field, Knowledge: event.Knowledge(rapid.IntRange(0, 1).Draw(t, "known"))}
				if info.Text {
					s.Text = rapid.StringN(0, 8, -1).Draw(t, "text")
				} else {
					s.Number = rapid.Float64Range(info.Min, info.Max).Draw(t, "number")
				}
				b.Specs = append(b.Specs, s)
			}
			return b
		}
		u := Units{Imperial: rapid.Bool().Draw(t, "imperial")}
		category := rapid.SampledFrom(glossary.Categories()).Draw(t, "category")
		b, base := build("build"), build("base")
		if rapid.Bool().Draw(t, "no base") {
			base = nil
		}
		listed := 0
		for _, g := range groups(category, b, base, u) {
			listed += len(g.Listed())
			for _, p := range g.Parts {
				if strings.Contains(p.Value+p.Note+p.From+p.To+p.SI, "NaN") || strings.Contains(p.From+p.To, "Inf") {
					t.Fatalf("%+v", p)
				}
				if (p.Knowledge == "unknown") != (p.Value == "unknown" && p.Number == nil && p.SI == "") && p.Number != nil {
					t.Fatalf("%+v", p)
				}
			}
		}
		if listed < len(b.Specs) {
			t.Fatalf("%d of %d known parts have a row", listed, len(b.Specs))
		}
		h := heft(b, u)
		for _, x := range []*float64{h.TotalKg, h.MomentKgM, h.Points} {
			if x != nil && (math.IsNaN(*x) || math.IsInf(*x, 0)) {
				t.Fatalf("%+v", h)
			}
		}
		if h.Verdict == doesNotAddUp && len(h.Warnings) == 0 || h.Verdict == addsUp && len(h.Warnings) > 0 || h.Verdict == cannotSay &&
			len(h.Missing) == 0 {
			t.Fatalf("%+v", h)
		}
		for _, o := range work(category, b, base) {
			if len(o.Cautions) == 0 || o.Why == "" {
				t.Fatalf("%+v", o)
			}
		}
	})
}

func TestSwingWeightThatCannotBeReached(t *testing.T) {
	part := func(f event.BuildField, x float64) *event.Spec { return &event.Spec{Field: f, Number: x} }
	b := &event.Build{Specs: []*event.Spec{part(event.BuildField_BUILD_LENGTH, 45*club.Inch), part(event.BuildField_BUILD_HEAD_WEIGHT, .2),
		part(event.BuildField_BUILD_SHAFT_WEIGHT, .06),
		part(event.BuildField_BUILD_GRIP_WEIGHT, .05), part(event.BuildField_BUILD_SWING_WEIGHT, club.SwingWeight(10).Moment())}}
	h := heft(b, Units{Imperial: true})
	if h.Verdict != doesNotAddUp || len(h.Warnings) != 1 || !strings.Contains(h.Warnings[0], "above the B0 that is asked") || len(h.Ways) < 2 {
		t.Errorf("%+v", h)
	}
	// Each way, taken, brings the club to the wanted swing weight.
	c := club.Club{Length: 45 * club.Inch, HeadMass: .2, ShaftMass: .06, GripMass: .05}
	m, err := c.HeadFor(10)
	if err != nil || !strings.Contains(h.Ways[0], figure.In("g", 1000, 1).Text(m)) {
		t.Errorf("%v, %v", h.Ways, err)
	}
	// With one mass unknown and the total known, the rest is taken.
	b.Specs = append(b.Specs[:1], part(event.BuildField_BUILD_SHAFT_WEIGHT, .06), part(event.BuildField_BUILD_GRIP_WEIGHT, .05),
		part(event.BuildField_BUILD_TOTAL_WEIGHT, .310))
	if h := heft(b, Units{}); h.Filled != "head weight taken as the rest of the total weight, 200\u00a0g" || h.Verdict != addsUp {
		t.Errorf("%+v", h)
	}
	b.Specs[3].Number = .1
	if h := heft(b, Units{}); h.Verdict != doesNotAddUp || !strings.HasPrefix(h.Warnings[0], "No such club: head mass") {
		t.Errorf("%+v", h)
	}
	b.Specs = b.Specs[:2]
	if h := heft(b, Units{}); h.Verdict != cannotSay || strings.Join(h.Missing, ", ") != "head weight, grip weight" {
		t.Errorf("%+v", h)
	}
}

func TestASignThatIsGoodIsToldInWords(t *testing.T) {
	for name, want := range map[glossary.Name]string{
		glossary.Strike: "3\u00a0mm nearer to the middle, range 5\u00a0mm nearer to the middle to 1\u00a0mm farther from the middle",
		glossary.Spin:   "0\u00a0rpm, range 0 to 0\u00a0rpm",
	} {
		changed, interval := moved(name, -.003, -.005, .001, Units{})
		if got := changed + ", " + interval; got != want {
			t.Errorf("%s: %s", name, got)
		}
	}
}

func TestEveryOutcomeHasWords(t *testing.T) {
	for _, n := range glossary.Outcomes() {
		if w := glossary.Told(string(n), n == glossary.Skid); w.Paper == "" || w.Meaning == "" {
			t.Errorf("%s has no words", n)
		}
	}
}

// A check of a delivered club is held against the promise, not only against
// chance: what points the other way is said to.
func TestACheckIsHeldAgainstThePromise(t *testing.T) {
	tighter := &Promise{Change: -0.4, Low: -0.9, High: -0.1}
	for _, c := range []struct {
		measured, low, high float64
		want                string
	}{
		{-0.3, -0.6, 0, "in keeping with the promise"},
		{0.58, -0.2, 1.3, "points the other way"}, // 78 % wider
		{-0.05, -0.4, 0.3, "rather less than was promised"},
		{0.5, 0.1, 0.9, "it went the other way"},
		{-1.1, -1.6, -0.6, "rather more than was promised"},
		{-1.5, -2, -1, "more than was promised"},
	} {
		if got := againstThePromise(c.measured, c.low, c.high, tighter); !strings.Contains(got, c.want) {
			t.Errorf("%g: %s", c.measured, got)
		}
	}
}
