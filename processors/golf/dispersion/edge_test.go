package dispersion

import (
	"encoding/json"
	"errors"
	"math"
	"strings"
	"testing"

	"fairlead/deploy/proof"
	"fairlead/ingest/contract/glossary"

	"pgregory.net/rapid"
)

func TestFewShotsSayNotYet(t *testing.T) {
	shots := []Shot{{200, 3}, {210, -5}, {190, 8}, {205, 1}, {198, -2}}
	for n := 0; n <= 4; n++ {
		s, err := Summarise(glossary.Iron, shots[:n], Aim{})
		if err != nil {
			t.Fatalf("n %d: %v", n, err)
		}
		for name, stat := range map[string]Stat{"spread": s.SpreadLn, "direction": s.DirectionSDDeg, "carry": s.CarrySDPct, "r95": s.R95,
			"odds": s.Misses[0].Odds} {
			if !stat.NotYet || stat.More != MinSpread-n {
				t.Errorf("n %d, %s: %+v", n, name, stat)
			}
		}
		if s.Carry.Mean.NotYet != (n < MinMean) || s.NextShot != nil || !s.Robust.NotYet || s.Robust.More != MinRobust-n {
			t.Errorf("n %d: mean %v, ellipse %v, robust %+v", n, s.Carry.Mean, s.NextShot, s.Robust)
		}
	}
	s, err := Summarise(glossary.Iron, shots, Aim{})
	if err != nil || s.SpreadLn.NotYet || s.NextShot == nil || s.WorstTenth.Distance.More != 5 {
		t.Errorf("five shots: %v %+v", err, s.WorstTenth)
	}
}

func TestEqualAndLinedUpShots(t *testing.T) {
	equal := make([]Shot, 24)
	lined := make([]Shot, 24)
	mostly := make([]Shot, 24)
	for i := range equal {
		equal[i] = Shot{200.1, 3.3}
		lined[i] = Shot{200 + float64(i), 2 + 0.5*float64(i)}
		mostly[i] = Shot{200, 5}
	}
	for i := range 6 {
		mostly[i] = Shot{190 + 3*float64(i), float64(i * i)}
	}
	for name, shots := range map[string][]Shot{"equal": equal, "lined up": lined} {
		s, err := Summarise(glossary.Driver, shots, Aim{}, WithTargets(Target{Length: 5, Width: 5}))
		if err != nil {
			t.Fatal(err)
		}
		if !s.SpreadLn.NotYet || !s.R95.NotYet || s.NextShot != nil || !s.Robust.NotYet || !s.Targets[0].Odds.NotYet ||
			!s.WorstTenth.Distance.NotYet || s.SpreadLn.Why == "" {
			t.Errorf("%s: spread %v, robust %+v", name, s.SpreadLn, s.Robust)
		}
		if _, _, err := s.Metres.SpreadLn(); !errors.Is(err, ErrSingular) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if s, err := Summarise(glossary.Driver, mostly, Aim{}); err != nil || !s.Robust.NotYet || s.SpreadLn.NotYet {
		t.Errorf("three quarters on one spot: %v, %+v", err, s.Robust)
	}
}

func TestBadShotsAreNamed(t *testing.T) {
	for _, bad := range []Shot{{math.NaN(), 0}, {200, math.NaN()}, {math.Inf(1), 0}, {-1, 0}, {0, 0}, {2000, 0}, {200, -3000}} {
		_, err := Summarise(glossary.Driver, []Shot{{200, 0}, bad}, Aim{})
		var e *ShotError
		if !errors.As(err, &e) || e.Index != 1 || !strings.Contains(err.Error(), "shot 2") {
			t.Errorf("%v: %v", bad, err)
		}
	}
	if _, err := NewScatter([][2]float64{{1e300, 1}, {-1e300, 2}}); !errors.Is(err, ErrNotFinite) {
		t.Errorf("overflow: %v", err)
	}
	if _, err := Summarise("spoon", nil, Aim{}); err == nil {
		t.Error("unknown category passed")
	}
	if _, err := Summarise(glossary.Driver, nil, Aim{Carry: math.NaN()}); err == nil {
		t.Error("aim NaN passed")
	}
	if _, err := SummariseStrikes([]Strike{{0.01, 0.3}}, 0.95); err == nil {
		t.Error("a strike off the face passed")
	}
	if _, err := SummarisePutts([]Putt{{Start: 1, Speed: math.NaN()}}, Green{3, 0.4}, 0, 0.95); err == nil {
		t.Error("a putt without speed passed")
	}
}

func drawShots(t *rapid.T) []Shot {
	n := rapid.IntRange(0, 30).Draw(t, "n")
	coarse := rapid.Bool().Draw(t, "coarse") // ties, lines and spots
	out := make([]Shot, n)
	for i := range out {
		if coarse {
			out[i] = Shot{float64(rapid.IntRange(100, 102).Draw(t, "carry")), float64(rapid.IntRange(-1, 1).Draw(t, "offline"))}
			continue
		}
		out[i] = Shot{rapid.Float64Range(50, 300).Draw(t, "carry"), rapid.Float64Range(-60, 60).Draw(t, "offline")}
	}
	return out
}

// A left-hander's mirrored trial gives the very same answers once handed, and
// whatever is summarised can be written as JSON, which NaN cannot.
func TestMirrorAndNoNaN(t *testing.T) {
	proof.Check(t, func(t *rapid.T) {
		shots := drawShots(t)
		options := []Option{WithMisses(Miss{Left, 5}), WithTargets(Target{Length: 20, Width: 10, Across: 3})}
		a, err := Summarise(glossary.Wood, shots, Aim{Offline: 2}, options...)
		if err != nil {
			t.Fatal(err)
		}
		b, err := Summarise(glossary.Wood, Handed(Handed(shots, true), true), Aim{Offline: 2}, options...)
		if err != nil {
			t.Fatal(err)
		}
		left, err := json.Marshal(a)
		if err != nil {
			t.Fatalf("a value is no number: %v", err)
		}
		right, _ := json.Marshal(b)
		if string(left) != string(right) {
			t.Fatalf("handed\n%s\n%s", left, right)
		}
		// And unhanded: what lies left lies right, by as much.
		m, err := Summarise(glossary.Wood, Handed(shots, true), Aim{Offline: -2}, WithMisses(Miss{Right, 5}),
			WithTargets(Target{Length: 20, Width: 10, Across: -3}))
		if err != nil {
			t.Fatal(err)
		}
		for name, pair := range map[string][2]Stat{
			"spread": {a.SpreadLn, m.SpreadLn}, "direction": {a.DirectionSDDeg, m.DirectionSDDeg}, "r95": {a.R95, m.R95},
			"miss": {a.Misses[0].Odds, m.Misses[0].Odds}, "target": {a.Targets[0].Odds, m.Targets[0].Odds},
			"worst":   {a.WorstTenth.Distance, m.WorstTenth.Distance},
			"mishits": {a.Robust.MishitRate, m.Robust.MishitRate},
		} {
			x, y := pair[0], pair[1]
			if x.NotYet != y.NotYet || math.Abs(x.Value-y.Value)+math.Abs(x.Low-y.Low)+math.Abs(x.High-y.High) > 1e-6*(1+math.Abs(x.Value)) {
				t.Fatalf("%s: %+v, mirrored %+v", name, x, y)
			}
		}
	})
}

// Moving the whole scatter changes only the mean; turning it changes neither
// its area nor its radii, and turns the ellipse.
func TestMoveAndTurn(t *testing.T) {
	proof.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(5, 25).Draw(t, "n")
		angle := rapid.Float64Range(-3, 3).Draw(t, "angle")
		dx, dy := rapid.Float64Range(-500, 500).Draw(t, "dx"), rapid.Float64Range(-500, 500).Draw(t, "dy")
		var a, moved, turned [][2]float64
		sin, cos := math.Sincos(angle)
		for range n {
			x, y := rapid.Float64Range(-20, 20).Draw(t, "x"), rapid.Float64Range(-9, 9).Draw(t, "y")
			a = append(a, [2]float64{x, y})
			moved = append(moved, [2]float64{x + dx, y + dy})
			turned = append(turned, [2]float64{x*cos - y*sin, x*sin + y*cos})
		}
		s, _ := NewScatter(a)
		m, _ := NewScatter(moved)
		r, _ := NewScatter(turned)
		if s.Singular() || s.Det() < 1e-3 {
			return
		}
		near := func(what string, x, y float64) {
			if math.Abs(x-y) > 1e-6*(1+math.Abs(x)) {
				t.Fatalf("%s: %g and %g", what, x, y)
			}
		}
		y, _, _ := s.SpreadLn()
		ym, _, _ := m.SpreadLn()
		yr, _, _ := r.SpreadLn()
		near("moved spread", y, ym)
		near("turned spread", y, yr)
		near("moved mean", s.Mean[0]+dx, m.Mean[0])
		near("turned r95", s.radiusStat(0.95, 0.95).Value, r.radiusStat(0.95, 0.95).Value)
		e, _ := s.NextShotEllipse(0.9)
		f, _ := r.NextShotEllipse(0.9)
		near("turned area", e.Area, f.Area)
		if e.Major > 1.01*e.Minor {
			turn := math.Mod(f.TiltDeg-e.TiltDeg-angle*180/math.Pi, 180)
			if turn = math.Abs(turn); math.Min(turn, 180-turn) > 1e-4 {
				t.Fatalf("turned tilt: %g to %g by %g", e.TiltDeg, f.TiltDeg, angle*180/math.Pi)
			}
		}
	})
}
