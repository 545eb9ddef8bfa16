package flight

import (
	"encoding/json"
	"math"
	"os"
	"testing"

	"fairlead/deploy/proof"
	"fairlead/ingest/contract/unit"
)

// average is one row of the printed averages.
type average struct {
	Players  string  `json:"players"`
	Club     string  `json:"club"`
	Speed    float64 `json:"ball_speed_mph"`
	Launch   float64 `json:"launch_deg"`
	Spin     float64 `json:"spin_rpm"`
	Apex     float64 `json:"apex_yd"`
	Landing  float64 `json:"landing_deg"`
	Carry    float64 `json:"carry_yd"`
	KeptOut  bool    `json:"kept_out"`
	Doubtful bool    `json:"doubtful"`
}

func averages(t *testing.T) []average {
	t.Helper()
	b, err := os.ReadFile("../../../testdata/flight/averages.json")
	if err != nil {
		t.Fatal(err)
	}
	var file struct {
		Rows []average `json:"rows"`
	}
	if err := json.Unmarshal(b, &file); err != nil {
		t.Fatal(err)
	}
	return file.Rows
}

// off flies a row by a model and returns what comes out less what is printed, in
// yd of carry and apex and deg of landing.
func (a *average) off(t *testing.T, m Model) (carry, apex, landing float64) {
	t.Helper()
	c := Standard()
	c.Model = m
	air, err := AirAt(25, 101325, 0.5)
	if err != nil {
		t.Fatal(err)
	}
	c.Air = air
	r, err := Simulate(Launch{BallSpeed: a.Speed * unit.MPH, Angle: a.Launch, SpinRate: a.Spin}, c)
	if err != nil {
		t.Fatalf("%s' %s: %v", a.Players, a.Club, err)
	}
	return r.Carry/unit.Yard - a.Carry, r.Apex/unit.Yard - a.Apex, r.LandingAngle - a.Landing
}

// The default model meets the averages that its fit did not see: carry within 3 yd
// and landing within 1.5° in the mean, where the model of before came down five degrees too flat.
func TestAveragesKeptOutOfTheFit(t *testing.T) {
	sums := func(m Model) (carry, apex, landing float64) {
		n := 0.0
		for _, a := range averages(t) {
			if !a.KeptOut {
				continue
			}
			dc, da, dl := a.off(t, m)
			if m.Name == Standard().Model.Name {
				t.Logf("%-5s %-7s carry %+.1f yd, apex %+.1f yd, landing %+.1f°", a.Players, a.Club, dc, da, dl)
			}
			n++
			carry, apex, landing = carry+math.Abs(dc), apex+math.Abs(da), landing+math.Abs(dl)
		}
		return carry / n, apex / n, landing / n
	}
	carry, apex, landing := sums(Standard().Model)
	beforeCarry, beforeApex, beforeLanding := sums(Ferguson())
	t.Logf("mean error: carry %.2f yd, apex %.2f yd, landing %.2f°; of before %.2f, %.2f, %.2f",
		carry, apex, landing, beforeCarry, beforeApex, beforeLanding)
	if carry > 3 || landing > 1.5 || apex > 2 {
		t.Errorf("mean error on the rows kept out: carry %.2f yd, apex %.2f yd, landing %.2f°", carry, apex, landing)
	}
	if landing > beforeLanding/2 {
		t.Errorf("landing is no better than before: %.2f° against %.2f", landing, beforeLanding)
	}
}

// misfit is what the coefficients were chosen by: carry in units of 1.5 yd, apex
// in 1.5 yd, landing in 1°, large ones counted by their size and not its square;
// the literature holds the terms weakly where the averages say little.
func misfit(t *testing.T, rows []average, m Model) float64 {
	huber := func(x float64) float64 {
		if x = math.Abs(x); x < 1.5 {
			return x * x
		}
		return 1.5 * (2*x - 1.5)
	}
	sum := square(m.SlowDrag/0.2) + square(m.SlowLift/0.4)
	for i := range rows {
		if rows[i].KeptOut || rows[i].Doubtful {
			continue
		}
		carry, apex, landing := rows[i].off(t, m)
		sum += huber(carry/1.5) + huber(apex/1.5) + huber(landing)
	}
	c, other := Standard(), Ferguson()
	c.Model = m
	mine := newForces(&Launch{}, &c)
	c.Model = other
	theirs := newForces(&Launch{}, &c)
	for _, s := range []float64{0.05, 0.1, 0.2, 0.3, 0.4, 0.5} {
		lift := mine.liftCoefficient(s)
		drag := m.Drag[0] + m.DragOfLift*lift*lift
		of := other.Drag[0] + s*(other.Drag[1]+s*other.Drag[2])
		sum += 0.25 * (square((drag-of)/0.06) + square((lift-theirs.liftCoefficient(s))/0.06))
	}
	return sum + square((mine.liftCoefficient(0.05)*(1+m.SlowLift*slowness(66))-0.11)/0.02)
}

// The fit is found again from the averages: no coefficients nearby, and none that a
// search from elsewhere comes to, meet them better by more than rounding.
func TestTheFitOfAverages(t *testing.T) {
	rows := averages(t)
	build := func(p []float64) Model {
		m := Averages()
		m.Drag[0], m.DragOfLift, m.Lift = p[0], p[1], [3]float64{p[2], p[3], p[4]}
		m.SlowDrag, m.SlowLift = p[5], p[6]
		m.LiftPeak = m.SMax
		if p[4] < 0 {
			m.LiftPeak = min(m.SMax, max(m.SMin, -p[3]/(2*p[4])))
		}
		return m
	}
	d := Averages()
	shipped := []float64{d.Drag[0], d.DragOfLift, d.Lift[0], d.Lift[1], d.Lift[2], d.SlowDrag, d.SlowLift}
	have := misfit(t, rows, d)
	steps := []float64{0.01, 0.1, 0.01, 0.1, 0.2, 0.02, 0.05}
	for i := range shipped {
		for _, sign := range []float64{-1, 1} {
			p := append([]float64(nil), shipped...)
			p[i] += sign * steps[i]
			if other := misfit(t, rows, build(p)); other < have {
				t.Errorf("coefficient %d moved by %g meets the averages better: %.2f, shipped %.2f", i, sign*steps[i], other, have)
			}
		}
	}
	if !proof.Wanted() {
		return
	}
	start := []float64{0.22, 0.9, 0, 1.8, -2.4, 0.1, 0.3}
	for range 9 {
		start = descend(func(p []float64) float64 { return misfit(t, rows, build(p)) }, start, steps, 400)
	}
	found := misfit(t, rows, build(start))
	t.Logf("found %.4v with %.3f; shipped %.4v with %.3f", start, found, shipped, have)
	if found < 0.99*have {
		t.Errorf("a search finds %.4v with %.2f, shipped are %.4v with %.2f", start, found, shipped, have)
	}
}

// descend is Nelder and Mead's simplex search (1965, Comput. J. 7:308).
func descend(f func([]float64) float64, from, steps []float64, turns int) []float64 {
	n := len(from)
	points, values := make([][]float64, n+1), make([]float64, n+1)
	for i := range points {
		points[i] = append([]float64(nil), from...)
		if i > 0 {
			points[i][i-1] += steps[i-1]
		}
		values[i] = f(points[i])
	}
	toward := func(centre []float64, share float64) ([]float64, float64) {
		p := make([]float64, n)
		for j := range p {
			p[j] = centre[j] + share*(points[n][j]-centre[j])
		}
		return p, f(p)
	}
	for range turns {
		for i := 1; i <= n; i++ {
			for j := i; j > 0 && values[j] < values[j-1]; j-- {
				values[j], values[j-1] = values[j-1], values[j]
				points[j], points[j-1] = points[j-1], points[j]
			}
		}
		centre := make([]float64, n)
		for _, p := range points[:n] {
			for j := range centre {
				centre[j] += p[j] / float64(n)
			}
		}
		p, v := toward(centre, -1)
		switch {
		case v < values[0]:
			if q, w := toward(centre, -2); w < v {
				p, v = q, w
			}
		case v >= values[n-1]:
			inside := 0.5
			if v < values[n] {
				inside = -0.5
			}
			p, v = toward(centre, inside)
		}
		if v < values[n] {
			points[n], values[n] = p, v
			continue
		}
		for i := 1; i <= n; i++ {
			for j := range points[i] {
				points[i][j] = points[0][j] + 0.5*(points[i][j]-points[0][j])
			}
			values[i] = f(points[i])
		}
	}
	best := 0
	for i := range values {
		if values[i] < values[best] {
			best = i
		}
	}
	return points[best]
}

// A mile up a drive carries some five to seven percent farther, and never less: what
// the model makes of speed is none of the air's.
func TestThinAirCarriesFarther(t *testing.T) {
	for _, l := range []Launch{
		{BallSpeed: 74, Angle: 11, SpinRate: 2600}, {BallSpeed: 54, Angle: 16, SpinRate: 7000}, {BallSpeed: 45, Angle: 24, SpinRate: 9300},
	} {
		c := Standard()
		level, err := Simulate(l, c)
		if err != nil {
			t.Fatal(err)
		}
		if c.Air, err = AirAtAltitude(5, 1609, 0); err != nil {
			t.Fatal(err)
		}
		high, err := Simulate(l, c)
		if err != nil {
			t.Fatal(err)
		}
		if share := high.Carry/level.Carry - 1; share < 0.02 || share > 0.12 {
			t.Errorf("%+v: a mile up carries %+.1f %%", l, 100*share)
		} else {
			t.Logf("%+v: a mile up carries %+.1f %%", l, 100*share)
		}
	}
}
