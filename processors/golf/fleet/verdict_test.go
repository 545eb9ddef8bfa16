package fleet

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// Size, evidence and margin are said apart: a change that is surely there and
// surely small is a finding within the margin, not 'practically the same'.
func TestAVerdictHasThreeColumns(t *testing.T) {
	direction, _ := FindOutcome("direction") // smaller is better, margin 5 %
	_, tail := quantiles(0, 0.95)
	for _, c := range []struct {
		name       string
		change, se float64
		q          float64
		way        string
		evidence   string
		margin     string
		close      string
	}{
		{"sure and small", -0.03, 0.003, 1e-8, WayBetter, Finding, Within, ""},
		{"sure and large", 0.20, 0.01, 1e-8, WayWorse, Finding, Beyond, ""},
		{"sure, and about the margin", -0.05, 0.005, 1e-8, WayBetter, Finding, Open, ""},
		{"nothing there", 0.001, 0.005, 0.9, WayWorse, Open, Within, ""},
		{"nothing known", 0.02, 0.05, 0.9, WayWorse, Open, Open, ""},
		{"chance, perhaps", -0.02, 0.009, 0.4, WayBetter, Hint, Within, "evidence"},
		{"just within", 0.04, 0.005, 1e-8, WayWorse, Finding, Within, "margin"},
	} {
		p := tail(math.Abs(c.change) / c.se)
		v := judge(direction, c.change, c.se, p, c.q, direction.Margin, tail)
		if v.Way != c.way || v.Evidence != c.evidence || v.Margin != c.margin {
			t.Errorf("%s: %+v", c.name, v)
		}
		if c.close != "" && !slices.Contains(v.Close, c.close) {
			t.Errorf("%s: no close call about %s: %+v", c.name, c.close, v)
		}
	}
}

// Both tests against the margin err in one case of twenty at their bound.
func TestSizeIsTestedAtItsLevel(t *testing.T) {
	_, tail := quantiles(0, 0.95)
	within, beyond := 0, 0
	const n, se, bound = 20000, 0.01, 0.05
	for i := range n {
		// Quantiles of a change whose truth lies on the bound.
		z := math.Sqrt2 * math.Erfinv(2*(float64(i)+0.5)/n-1)
		w, b := against(bound+se*z, se, bound, tail)
		if w <= sizeAt {
			within++
		}
		if b <= sizeAt {
			beyond++
		}
	}
	for name, got := range map[string]int{"within": within, "beyond": beyond} {
		if share := float64(got) / n; math.Abs(share-sizeAt) > 0.002 {
			t.Errorf("%s the margin: said in %.3f of cases that lie on it, want %.3f", name, share, sizeAt)
		}
	}
}

func TestEndsOfManyValues(t *testing.T) {
	var e ends
	for i := range 200_001 {
		e.add(float64((i * 7919) % 200_001))
	}
	if len(e.values) > keptValues || math.Abs(e.at(0.1)-20_000) > 3000 || math.Abs(e.at(0.9)-180_000) > 3000 {
		t.Errorf("%d kept, deciles %.0f and %.0f", len(e.values), e.at(0.1), e.at(0.9))
	}
}

// Leaving a studio's or fitter's trials out of the sums gives what a fit of the
// rest gives, but for variances that are the fleet's.
func TestLeavingOutOfTheSumsIsAFitOfTheRest(t *testing.T) {
	trials := bigEnough()
	q := Question{Outcome: "direction", Category: "driver", Attributes: []Attribute{Length, ShaftWeight}, Traits: []string{"speed_mps"},
		Test: KnappHartung}
	base, err := Ask(t.Context(), trials, q)
	if err != nil {
		t.Fatal(err)
	}
	p, err := newParts(t.Context(), base, trials)
	if err != nil {
		t.Fatal(err)
	}
	for _, left := range []string{"a", "b", "c"} {
		is := func(t *Trial) bool { return t.Fitter == left }
		got, err := p.without(t.Context(), p.groups(func(t *Trial) string { return t.Fitter })[left], is)
		if err != nil {
			t.Fatal(err)
		}
		s, err := NewStream(q, base.Design, base.Noise)
		if err != nil {
			t.Fatal(err)
		}
		for _, i := range hitOrder(trials) {
			if !is(&trials[i]) {
				if err := s.Add(&trials[i]); err != nil {
					t.Fatal(err)
				}
			}
		}
		want, err := s.Answer(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		if got.Fit.Players != want.Fit.Players || got.Fit.K != want.Fit.K || got.Fit.Sessions != want.Fit.Sessions {
			t.Errorf("without %s: %d players, %d rows, %d levels; a fit has %d, %d, %d", left, got.Fit.Players, got.Fit.K, got.Fit.Sessions,
				want.Fit.Players, want.Fit.K, want.Fit.Sessions)
		}
		for k, e := range want.Fit.Terms {
			g := got.Fit.Terms[k]
			if g.Name != e.Name || math.Abs(g.Value-e.Value) > 0.35*e.SE || math.Abs(math.Log(g.SE/e.SE)) > 0.15 {
				t.Errorf("without %s, %s: %.4f ± %.4f, a fit gives %.4f ± %.4f", left, e.Name, g.Value, g.SE, e.Value, e.SE)
			}
		}
	}
}

// bigEnough is a fleet of 300 players in the hands of three fitters, one of whom
// has no players of his own.
func bigEnough() []Trial {
	rng := rand.New(rand.NewPCG(5, 6))
	var out []Trial
	for j := range 300 {
		speed, skill := 44+5*rng.NormFloat64(), 1+0.2*rng.NormFloat64()
		own := 0.05 * rng.NormFloat64()
		for s := range 2 {
			fitter := []string{"a", "b", "c"}[(j+s*(j%2))%3]
			for n := range 6 {
				t := Trial{Player: fmt.Sprintf("p%03d", j), Session: fmt.Sprintf("s%03d-%d", j, s), Studio: "quay", Fitter: fitter, Category: "driver",
					Number: n + 1, Level: 1, FirstShot: 1 + 10*n, Attributes: NoAttributes(), Traits: NoTraits(), Mirrored: true}
				t.Attributes[Length] = 1.14 + Length.Step()*float64(rng.IntN(3)-1)
				t.Attributes[ShaftWeight] = 0.06 + ShaftWeight.Step()*float64(rng.IntN(3)-1)
				t.Traits[0] = speed
				sd := math.Exp(skill + (0.05+own)*(t.Attributes[Length]-1.14)/Length.Step() + 0.1*rng.NormFloat64())
				t.Shots = Summary{N: 10, Directed: 10, Carry: 200}
				for range 9 {
					x := sd * rng.NormFloat64()
					t.Shots.DirectionSS += x * x
				}
				t.Shots.DirectionS4 = t.Shots.DirectionSS * t.Shots.DirectionSS * 0.3
				out = append(out, t)
			}
		}
	}
	return out
}
