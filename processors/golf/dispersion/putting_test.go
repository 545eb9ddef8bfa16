package dispersion

import (
	"math"
	"testing"
)

func TestSkidAndHole(t *testing.T) {
	g := Green{Run: 3, Friction: 0.4}
	d, v := g.Skid(2)
	if math.Abs(d-0.250) > 5e-4 || math.Abs(v-10.0/7) > 1e-12 {
		t.Errorf("skid %.4f m to %.4f m/s", d, v)
	}
	// A ball released rolling at 1.83 m/s runs the green's speed; a struck one
	// that comes to roll at 1.83 m/s runs that and its skid.
	if got, want := g.RollOut(1.83*7/5), 3+12*1.83*1.83*49/25/(49*0.4*gravity); math.Abs(got-want) > 1e-9 {
		t.Errorf("roll-out %.4f, want %.4f", got, want)
	}
	for _, c := range []struct {
		start, speed float64
		holed        bool
	}{
		{0, 2.5, true},     // dies a little past the hole
		{0, 2.3, false},    // short
		{0, 3.6, false},    // too fast to fall
		{2, 2.5, false},    // 10 cm off line
		{0.7, 2.5, true},   // 3.7 cm off, slow
		{0.7, 2.85, false}, // 3.7 cm off, too fast for the edge
	} {
		if got := g.Holed(Putt{Start: c.start, Speed: c.speed}, 3); got != c.holed {
			t.Errorf("start %g°, %g m/s: holed %v", c.start, c.speed, got)
		}
		if g.Holed(Putt{Start: c.start, Speed: c.speed}, 3) != g.Holed(Putt{Start: -c.start, Speed: c.speed}, 3) {
			t.Errorf("start %g°: not the same on the other side", c.start)
		}
	}
	s, err := SummarisePutts([]Putt{{0, 2.5, 2, true}, {0.3, 2.55, 0, false}, {-0.4, 2.45, 2.2, true}, {0.1, 2.6, 0, false},
		{2, 2.5, 0, false}}, g, 3, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	if s.N != 5 || s.Holed.Value != 0.8 || !s.Launch.Mean.NotYet || s.Launch.Mean.More != 1 || s.Start.SD.NotYet {
		t.Errorf("%+v", s)
	}
}

// Without launch and spin the roll is the closed form; a loft of 4° slides
// farther than one of none, a face that rises farther than its loft less.
func TestRollFollowsLaunchAndLoft(t *testing.T) {
	g := Green{Run: 3, Friction: 0.4}
	skid, rolling := g.Skid(2)
	r := g.Roll(2, 0, 0)
	if math.Abs(r.Skid-skid) > 1e-12 || math.Abs(r.Speed-rolling) > 1e-12 || math.Abs(r.Distance-g.RollOut(2)) > 1e-12 {
		t.Errorf("%+v", r)
	}
	if r := g.Roll(2, 0, 2/ballRadius*30/math.Pi); r.Share() > 1e-12 || math.Abs(r.Speed-2) > 1e-12 {
		t.Errorf("a ball that rolls from the face skids: %+v", r)
	}
	last := -1.0
	for _, loft := range []float64{-2, 0, 2, 4, 6} {
		if share := g.Roll(2, 0, SpinOfLoft(2, loft, 0)).Share(); share <= last {
			t.Errorf("loft %g°: share %.3f after %.3f", loft, share, last)
		} else {
			last = share
		}
	}
	if a, b := SpinOfLoft(2, 0, 3), SpinOfLoft(2, 3, 0); math.Abs(a+b) > 1e-12 || a <= 0 {
		t.Errorf("rising %g, lofted %g", a, b)
	}
	// The share is the same at every speed, and no input makes it leave 0 to 1.
	for _, v := range []float64{0.3, 1, 4, 20} {
		for _, launch := range []float64{-5, 0, 3, 30, 89} {
			for _, forward := range []float64{-2000, 0, 500, 2000} {
				if s := g.Roll(v, launch, forward).Share(); !(s >= 0 && s <= 1) {
					t.Errorf("%g m/s, %g°, %g rpm: %g", v, launch, forward, s)
				}
			}
		}
	}
}

// TestSpinOfLoft: the contact point of a solid sphere is brought to rest along the face by
// friction alone: 2 m/s off 3° of loft slides at 0.1048 m/s, and
// spins back at 0.1048/1.4/0.021335 rad/s. A rising face turns the sign.
func TestSpinOfLoft(t *testing.T) {
	for _, c := range []struct{ speed, loft, attack, want float64 }{
		{2, 3, 0, -33.51}, {2, 0, 3, 33.51}, {2, 3, 3, 0}, {1, 3, 0, -16.75}, {2, 4, 1, -33.51},
	} {
		if got := SpinOfLoft(c.speed, c.loft, c.attack); math.Abs(got-c.want) > 0.01 {
			t.Errorf("%g m/s, loft %g°, attack %g°: %.2f rpm, want %.2f", c.speed, c.loft, c.attack, got, c.want)
		}
	}
}
