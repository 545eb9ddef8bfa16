package fleet

import (
	"fairlead/ingest/contract/glossary"
	"math"
	"math/rand/v2"
	"testing"
)

// The estimates of spread must be unbiased with exactly the variance they claim.
func TestSpreadIsUnbiasedAndKnowsItsError(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 1))
	const n, runs = 10, 40000
	var sy, syy, sv, ay, ayy, av float64
	for range runs {
		var m [2]float64
		var x [n][2]float64
		for i := range x {
			x[i] = [2]float64{rng.NormFloat64(), rng.NormFloat64()}
			m[0] += x[i][0] / n
			m[1] += x[i][1] / n
		}
		var cc, oo, co float64
		for i := range x {
			a, b := x[i][0]-m[0], x[i][1]-m[1]
			cc, oo, co = cc+a*a, oo+b*b, co+a*b
		}
		y, v, _ := logSpread(n, cc, 0)
		sy, syy, sv = sy+y/runs, syy+y*y/runs, v
		y, v, _ = logArea(n, cc*oo-co*co, 0)
		ay, ayy, av = ay+y/runs, ayy+y*y/runs, v
	}
	if math.Abs(sy) > 0.004 || math.Abs((syy-sy*sy)/sv-1) > 0.02 {
		t.Errorf("one axis: mean %v, variance %v, claimed 0 and %v", sy, syy-sy*sy, sv)
	}
	if math.Abs(ay) > 0.006 || math.Abs((ayy-ay*ay)/av-1) > 0.02 {
		t.Errorf("area: mean %v, variance %v, claimed 0 and %v", ay, ayy-ay*ay, av)
	}
}

// A difference of two spreads and its variance, computed elsewhere.
func TestSpreadDifferenceGolden(t *testing.T) {
	a, v, _ := logArea(10, 360*90-60*60, 0)
	b, w, _ := logArea(10, 180*80-20*20, 0)
	if math.Abs(b-a+0.3607) > 1e-3 || math.Abs(v+w-0.26627) > 1e-4 {
		t.Errorf("difference %v, variance %v", b-a, v+w)
	}
}

func TestTooFewShotsHaveNoSpread(t *testing.T) {
	for _, o := range Outcomes() {
		tr := Trial{Shots: Summary{N: 4, Directed: 4, Carry: 200, CarrySS: 1, OfflineSS: 1, DirectionSS: 1, Window: math.NaN()}}
		if _, _, ok := o.Value(&tr, Noise{}); ok {
			t.Errorf("%s was computed from four shots and no noise", o.Name)
		}
	}
}

// The measured kurtosis must make the claimed variance of a spread right, for
// tails of several weights and trials of several lengths.
func TestKurtosisMakesTheVarianceRight(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 1))
	student := func(k int) func() float64 {
		return func() float64 {
			s := 0.0
			for range k {
				z := rng.NormFloat64()
				s += z * z
			}
			return rng.NormFloat64() * math.Sqrt(float64(k)/s)
		}
	}
	for _, c := range []struct {
		name string
		shot func() float64
		tol  float64
	}{
		{"normal", rng.NormFloat64, 0.05}, {"t9", student(9), 0.1}, {"t5", student(5), 0.1},
		{"5 % mishits", func() float64 {
			if rng.Float64() < 0.05 {
				return 3 * rng.NormFloat64()
			}
			return rng.NormFloat64()
		}, 0.2},
	} {
		for _, n := range []int{6, 10, 14} {
			var trials []Trial
			var sum, sq float64
			const runs = 30000
			for range runs {
				x, m := make([]float64, n), 0.0
				for k := range x {
					x[k] = c.shot()
					m += x[k] / float64(n)
				}
				var tr Trial
				tr.Shots.Directed = n
				for _, v := range x {
					d := (v - m) * (v - m)
					tr.Shots.DirectionSS += d
					tr.Shots.DirectionS4 += d * d
				}
				y := 0.5 * math.Log(tr.Shots.DirectionSS)
				sum, sq = sum+y/runs, sq+y*y/runs
				trials = append(trials, tr)
			}
			k := MeasureNoise(trials).DirectionKurtosis
			_, v, _ := logSpread(n, 1, k)
			if r := v / (sq - sum*sum); math.Abs(r-1) > c.tol {
				t.Errorf("%s, %d shots: kurtosis %.2f claims %.2f times the true variance", c.name, n, k, r)
			}
		}
	}
}

func TestKnowledgeGradientAgainstDraws(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 1))
	for range 20 {
		n := 2 + rng.IntN(5)
		mu, s := make([]float64, n), make([]float64, n)
		top := math.Inf(-1)
		for i := range mu {
			mu[i], s[i] = rng.NormFloat64(), rng.NormFloat64()
			if rng.IntN(4) == 0 && i > 0 {
				s[i] = s[i-1] // parallel lines
			}
			top = max(top, mu[i])
		}
		want := 0.0
		const steps = 20000
		for k := range steps { // midpoints of equal probability
			z := -6 + 12*(float64(k)+0.5)/steps
			best := math.Inf(-1)
			for i := range mu {
				best = max(best, mu[i]+s[i]*z)
			}
			want += (best - top) * math.Exp(-z*z/2) / math.Sqrt(2*math.Pi) * 12 / steps
		}
		if got := knowledgeGradient(mu, s); math.Abs(got-want) > 1e-5 {
			t.Errorf("%v by the envelope, %v by integration (mu %v, s %v)", got, want, mu, s)
		}
	}
}

func TestFlexIndex(t *testing.T) {
	for letter, want := range map[string]float64{"R": 2, "S": 3, "x": 4, "R+": 2 + 1.0/3, "S-": 3 - 1.0/3} {
		if got, ok := FlexIndex(letter); !ok || math.Abs(got-want) > 1e-12 {
			t.Errorf("%s: %v, %v", letter, got, ok)
		}
	}
	for _, bad := range []string{"", "+", "Q", "RS"} {
		if _, ok := FlexIndex(bad); ok {
			t.Errorf("%q has an index", bad)
		}
	}
}

// A row of the glossary that the fleet is asked about can be computed, and is
// found by its name in verdicts too.
func TestEveryOutcomeOfTheGlossaryIsComputed(t *testing.T) {
	if got, want := OutcomeWords(), "direction, carry_control, area, carry or window"; got != want {
		t.Errorf("the fleet may be asked about %s, was %s", got, want)
	}
	trial := Trial{Shots: Summary{N: 8, Directed: 8, WindowN: 8, Window: 1, Carry: 200, CarrySS: 100, OfflineSS: 100, DirectionSS: 10}}
	noise := Noise{CarryVariance: 20, WindowVariance: 1}
	for _, row := range glossary.FleetOutcomes() {
		for _, name := range []string{row.Fleet.Name, string(row.Name)} {
			o, ok := FindOutcome(name)
			if !ok || !(o.Margin > 0) || o.Name != row.Fleet.Name {
				t.Fatalf("%s is not found", name)
			}
			if _, v, ok := o.Value(&trial, noise); !ok || !(v > 0) {
				t.Errorf("%s cannot be computed of a trial", name)
			}
		}
	}
}
