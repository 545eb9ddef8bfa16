package profile

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"fairlead/deploy/proof"
	"fairlead/ingest/contract/glossary"

	"pgregory.net/rapid"
)

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %.6g, want %.6g ± %g", what, got, want, tol)
	}
}

// swing is a player to draw shots from.
type swing struct{ speed, attack, path, ftp, loft, x, y, sx, sy float64 }

var player = swing{45, -2, 1, 0.5, 14, 0.004, -0.002, 0.010, 0.006}

func (s swing) shots(rng *rand.Rand, n int) []Shot {
	var out []Shot
	for range n {
		path := s.path + 1.5*rng.NormFloat64()
		ftp := s.ftp + 1.5*rng.NormFloat64()
		out = append(out, Shot{
			Speed: Some(s.speed + 0.6*rng.NormFloat64()), Attack: Some(s.attack + rng.NormFloat64()), Path: Some(path), Face: Some(path + ftp),
			DynamicLoft: Some(s.loft + 1.1*rng.NormFloat64()), StrikeX: Some(s.x + s.sx*rng.NormFloat64()),
			StrikeY: Some(s.y + s.sy*rng.NormFloat64()),
			Tempo:   Some(3 + 0.1*rng.NormFloat64()),
		})
	}
	return out
}

func mustProfile(t testing.TB, shots []Shot, o Options) Profile {
	t.Helper()
	p, err := FromShots(shots, o)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func TestKnownNumbers(t *testing.T) {
	var shots []Shot
	for _, v := range []float64{44, 45, 46, 47, 48} {
		shots = append(shots, Shot{Speed: Some(v), StrikeX: Some(0.01 * (v - 46)), StrikeY: Some(0)})
	}
	p := mustProfile(t, shots, Options{Category: glossary.Driver})
	e := p.Get(Speed)
	near(t, "mean", e.Mean, 46, 1e-12)
	near(t, "sd", e.SD, math.Sqrt(2.5), 1e-12)
	near(t, "se", e.SE, math.Sqrt(0.5), 1e-12)
	low, high := e.Interval(0.95)
	near(t, "low", low, 46-2.7764*math.Sqrt(0.5), 1e-4)
	near(t, "high", high, 46+2.7764*math.Sqrt(0.5), 1e-4)
	// c4 as tabled: .9693 for 8 degrees (circular, n 5), .9862 for 18.
	near(t, "c4 of 8", c4(8), 0.9693, 1e-4)
	near(t, "c4 of 18", c4(18), 0.9862, 1e-4)
	// Strikes on a line have n−1 degrees, not 2(n−1).
	near(t, "degrees of a line", p.Get(StrikeScatter).DF, 4, 0.02)
}

func TestLeftIsMirrored(t *testing.T) {
	proof.Check(t, func(rt *rapid.T) {
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(rt, "seed"), 1))
		n := rapid.IntRange(0, 20).Draw(rt, "n")
		right := player.shots(rng, n)
		left := make([]Shot, n)
		for i, s := range right {
			left[i] = s
			// What a device writes of the mirror image: sides change, strike does not.
			left[i].Path, left[i].Face = s.Path.negated(), s.Face.negated()
		}
		a := mustProfile(t, right, Options{Category: glossary.Iron})
		b := mustProfile(t, left, Options{Category: glossary.Iron, Left: true})
		if !slices.Equal(a.All(), b.All()) {
			rt.Fatalf("the mirror image differs:\n%+v\n%+v", a.All(), b.All())
		}
		for _, term := range Terms() {
			if !slices.Equal(a.Bands(term), b.Bands(term)) {
				rt.Fatalf("bands of %s differ", term)
			}
		}
	})
	s := Shot{Path: Some(2), FaceToPath: Some(1), StrikeX: Some(0.01), Attack: Some(-3)}.Handed(true)
	if s.Path.V != -2 || s.FaceToPath.V != -1 || s.Face != Some(-3) || s.StrikeX.V != 0.01 || s.Attack.V != -3 {
		t.Errorf("handed: %+v", s)
	}
}

func TestTooFewShotsSayNotYet(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 1))
	for n := 0; n <= 3; n++ {
		p := mustProfile(t, player.shots(rng, n), Options{Category: glossary.Driver})
		for _, e := range p.All() {
			if e.Known || e.More != 4-n || e.Mean != 0 || e.SE != 0 || e.Below(1) != 0 {
				t.Errorf("n %d: %+v, want not yet, %d more", n, e, 4-n)
			}
			if p.Bands(e.Term) != nil {
				t.Errorf("n %d: %s has bands", n, e.Term)
			}
		}
		if v := p.Vector(); len(v.Names) != 0 || len(v.Missing) != len(VectorNames()) {
			t.Errorf("n %d: vector %+v", n, v)
		}
		full := mustProfile(t, player.shots(rng, 10), Options{Category: glossary.Driver})
		changes, err := Compare(p, full, Setting{}, nil)
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range changes {
			if c.Verdict != NotYet || c.More != 4-n {
				t.Errorf("n %d: %s is %q with %d more", n, c.Term, c.Verdict, c.More)
			}
		}
	}
}

func TestEqualShotsAreNotCertainty(t *testing.T) {
	s := Shot{Speed: Some(45), Attack: Some(0), StrikeX: Some(0), StrikeY: Some(0), Tempo: Some(3)}
	p := mustProfile(t, []Shot{s, s, s, s}, Options{Category: glossary.Driver})
	for _, e := range p.All() {
		if !e.Known {
			continue
		}
		low, high := e.Interval(0.95)
		if !(e.SE > 0) || !(high > low) {
			t.Errorf("%s: four equal shots claim certainty: %+v", e.Term, e)
		}
	}
	v := p.Vector()
	for i, x := range v.Values {
		if math.IsNaN(x) || math.IsInf(x, 0) || !(v.Variances[i] > 0) || math.IsInf(v.Variances[i], 0) {
			t.Errorf("%s is %v with variance %v", v.Names[i], x, v.Variances[i])
		}
	}
}

func TestBadShots(t *testing.T) {
	good := Shot{Speed: Some(45)}
	for name, bad := range map[string]Shot{
		"NaN": {Speed: Some(math.NaN())}, "infinite": {Path: Some(math.Inf(1))}, "negative speed": {Speed: Some(-45)},
		"mph as m/s": {Speed: Some(95)}, "mm as m": {StrikeX: Some(4)}, "tempo": {Tempo: Some(0)},
	} {
		var se *ShotError
		if _, err := FromShots([]Shot{good, bad}, Options{Category: glossary.Driver}); !errors.As(err, &se) || se.Shot != 2 {
			t.Errorf("%s: %v, want a ShotError about shot 2", name, err)
		}
	}
	for name, o := range map[string]Options{"putter": {Category: glossary.Putter}, "none": {},
		"outside": {Category: glossary.Iron, Use: []int{1}}, "twice": {Category: glossary.Iron, Use: []int{0, 0}}} {
		if _, err := FromShots([]Shot{good}, o); err == nil {
			t.Errorf("%s is taken", name)
		}
	}
}

func TestSuspectsAndDriftAreTold(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 5))
	shots := player.shots(rng, 12)
	shots[7].Speed = Some(30)
	p := mustProfile(t, shots, Options{Category: glossary.Driver})
	if !slices.ContainsFunc(p.Suspects, func(s Suspect) bool { return s.Shot == 7 && s.Term == Speed }) || p.Get(Speed).N != 12 {
		t.Errorf("the mishit is not told, or was left out: %+v", p.Suspects)
	}
	for i := range shots {
		shots[i].Speed = Some(40 + 0.5*float64(i))
	}
	if p := mustProfile(t, shots, Options{Category: glossary.Driver}); len(p.Notes) == 0 {
		t.Error("a player still warming up is not noted")
	}
}

func TestSplitSharesNothingAndBalancesOrder(t *testing.T) {
	proof.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, 60).Draw(t, "n")
		a, b := Split(n)
		seen := map[int]int{}
		sum := 0
		for _, i := range a {
			seen[i]++
			sum += i
		}
		for _, i := range b {
			seen[i]++
			sum -= i
		}
		if len(seen) != n || len(a)+len(b) != n {
			t.Fatalf("n %d: %v and %v do not part the shots", n, a, b)
		}
		if n%4 == 0 && sum != 0 {
			t.Fatalf("n %d: order is out of balance by %d", n, sum)
		}
	})
}

// Intervals cover, bands are calibrated, and the variance that models are
// given is the real one; with round and with long strike scatters.
func TestIntervalsCover(t *testing.T) {
	sessions := 3000
	if proof.Wanted() {
		sessions = 100000
	}
	rng := rand.New(rand.NewPCG(2, 71))
	for _, shape := range []struct{ sx, sy, tol float64 }{{0.008, 0.008, 0.006}, {0.012, 0.005, 0.015}} {
		s := player
		s.sx, s.sy = shape.sx, shape.sy
		truth := map[Term]float64{Speed: s.speed, Attack: s.attack, FaceToPath: s.ftp, StrikeX: s.x,
			StrikeScatter: math.Sqrt((s.sx*s.sx + s.sy*s.sy) / 2)}
		covered := map[Term]int{}
		var lnSum, lnSq, varSum float64
		for range sessions {
			p := mustProfile(t, s.shots(rng, 8), Options{Category: glossary.Driver})
			for term, v := range truth {
				if low, high := p.Get(term).Interval(0.95); low <= v && v <= high {
					covered[term]++
				}
			}
			value, variance := p.Get(StrikeScatter).model()
			lnSum, lnSq, varSum = lnSum+value, lnSq+value*value, varSum+variance
		}
		n := float64(sessions)
		noise := 3 * math.Sqrt(0.95*0.05/n)
		for term := range truth {
			tol := noise
			if term == StrikeScatter {
				tol += shape.tol // Satterthwaite is an approximation
			}
			near(t, string(term)+" coverage", float64(covered[term])/n, 0.95, tol)
		}
		mean := lnSum / n
		near(t, "ln scatter", mean, math.Log(truth[StrikeScatter]), 0.03)
		near(t, "its variance", (lnSq/n-mean*mean)/(varSum/n), 1, 0.1+6/math.Sqrt(n))
	}
}
