package flight

import (
	"math"
	"testing"
)

// The band is finite, grows where the models leave what they were fitted to, and
// holds the models fitted to flights for launches of ordinary play.
func TestBandHoldsTheModels(t *testing.T) {
	for _, l := range []Launch{{75, 11, 0, 2600, 0}, {60, 14, 0, 3500, 5}, {53, 16, 0, 6500, -5}, {45, 24, 0, 8500, 0}, {20, 30, 0, 4000, 0}} {
		c := Standard()
		r, err := Simulate(l, c)
		if err != nil {
			t.Fatal(err)
		}
		b, err := BandOf(l, c, r)
		if err != nil {
			t.Fatal(err)
		}
		if !(b.Carry > 0.01*r.Carry && b.Carry < max(0.1*r.Carry, 4) && b.Apex > 0 && b.Landing > 0 && b.Landing < 8 && b.Total > b.Carry) {
			t.Errorf("%+v: %+v", l, b)
		}
		for _, m := range []Model{Ferguson(), Quintavalla()} {
			c.Model = m
			other, err := Simulate(l, c)
			if err != nil {
				t.Fatal(err)
			}
			if math.Abs(other.Carry-r.Carry) > 2*b.Carry || math.Abs(other.LandingAngle-r.LandingAngle) > 2*b.Landing {
				t.Errorf("%+v: %s carries %.1f m and lands at %.1f°, outside of %.1f ± %.1f m and %.1f ± %.1f°",
					l, m.Name, other.Carry, other.LandingAngle, r.Carry, 2*b.Carry, r.LandingAngle, 2*b.Landing)
			}
		}
	}
	for _, l := range []Launch{{70, -3, 0, 0, 0}, {20, 60, 0, 12000, 45}, {90, 0, 0, 0, 0}, {90, 60, 0, 12000, 0}} {
		r, err := Simulate(l, Standard())
		if err != nil {
			t.Fatal(err)
		}
		if b, err := BandOf(l, Standard(), r); err != nil || math.IsNaN(b.Carry+b.Apex+b.Landing+b.Total) || math.IsInf(b.Total, 0) {
			t.Errorf("%+v: %+v, %v", l, b, err)
		}
	}
}

// The fit to the tunnel is held against values of it that lie between those that
// were fitted (2400, 3200 and 5600 rpm).
func TestBearmanHarveyAgreesWithTheTunnel(t *testing.T) {
	m := BearmanHarvey()
	for _, x := range []struct{ speed, rpm, drag, lift float64 }{
		{29.9, 2400, 0.295, 0.271}, {46.9, 2400, 0.253, 0.190}, {71.9, 2400, 0.2502, 0.145},
		{29.9, 3200, 0.324, 0.316}, {46.9, 3200, 0.271, 0.2141}, {71.9, 3200, 0.2566, 0.1628},
		{29.9, 5600, 0.382, 0.361}, {46.9, 5600, 0.320, 0.2877}, {71.9, 5600, 0.2758, 0.2165},
	} {
		s := 0.0205 * x.rpm * math.Pi / 30 / x.speed // the tunnel's ball had 41 mm
		near(t, "drag", m.Drag[0]+s*(m.Drag[1]+s*m.Drag[2]), x.drag, 0.02)
		near(t, "lift", m.Lift[0]+s*(m.Lift[1]+s*m.Lift[2]), x.lift, 0.045)
	}
}

// No ground lets a ball run on for hundreds of metres, and firmer is longer.
func TestRunIsBounded(t *testing.T) {
	for _, x := range []struct {
		l         Launch
		low, high float64 // m, firm
	}{
		{Launch{75, 11, 0, 2600, 0}, 25, 55}, {Launch{53, 16, 0, 7000, 0}, 3, 20}, {Launch{46, 24, 0, 9300, 0}, -5, 10},
		{Launch{70, 0.5, 0, 300, 0}, 50, 280}, {Launch{70, 0, 0, 0, 0}, 50, 280}, {Launch{90, -5, 0, 0, 0}, 50, 330},
		{Launch{30, 0.5, 0, 0, 0}, 50, 150},
	} {
		last := math.Inf(-1)
		for _, name := range []string{"soft", "medium", "firm"} {
			c := Standard()
			c.Ground, _ = GroundNamed(name)
			r, err := Simulate(x.l, c)
			if err != nil {
				t.Fatal(err)
			}
			if r.Run() < last {
				t.Errorf("%+v on %s ground runs %.1f m, less than on a softer one", x.l, name, r.Run())
			}
			last = r.Run()
		}
		if last < x.low || last > x.high {
			t.Errorf("%+v on firm ground runs %.1f m, want %g to %g", x.l, last, x.low, x.high)
		}
	}
}
