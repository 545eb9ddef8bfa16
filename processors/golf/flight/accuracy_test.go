package flight

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"fairlead/deploy/proof"
)

// shot is a launch with its conditions, drawn over the whole proven domain.
type shot struct {
	l Launch
	c Conditions
}

func drawShots(n int, seed uint64) []shot {
	random := rand.New(rand.NewPCG(seed, 7))
	between := func(low, high float64) float64 {
		if random.IntN(12) == 0 { // the corners too
			return []float64{low, high}[random.IntN(2)]
		}
		return low + (high-low)*random.Float64()
	}
	shots := make([]shot, 0, n)
	for len(shots) < n {
		s := shot{l: Launch{between(20, 90), between(-5, 60), between(-20, 20), between(0, 12000), between(-45, 45)}, c: Standard()}
		s.c.Model = Models()[random.IntN(3)]
		s.c.Air.Density = between(0.9, 1.35)
		if random.IntN(2) == 0 {
			s.c.Wind = Wind{between(0, 12), between(0, 360)}
		}
		switch random.IntN(3) {
		case 0:
			s.c.LandingHeight = between(-15, 0)
		case 1:
			s.c.LandingHeight = -0.05
		}
		shots = append(shots, s)
	}
	return shots
}

// The landing lies within 0.01 m of a step-halved reference: classical
// Runge-Kutta at 2 ms, whose own halving moves it by a fraction of that.
func TestAccuracyOverTheDomain(t *testing.T) {
	n := 1500
	if proof.Wanted() {
		n = 60_000
	}
	worst, worstReference := 0.0, 0.0
	var at shot
	for i, s := range drawShots(n, 1) {
		r, err := Simulate(s.l, s.c)
		if errors.Is(err, ErrNeverReaches) {
			continue
		}
		if err != nil {
			t.Fatalf("%+v: %v", s.l, err)
		}
		if r.Flags&NoFlight != 0 {
			continue
		}
		x, y, hang := reference(s.l, s.c, 2e-3)
		if i%20 == 0 {
			hx, hy, _ := reference(s.l, s.c, 1e-3)
			worstReference = max(worstReference, miss(hx, hy, x, y))
		}
		d := miss(r.Carry, r.Offline, x, y)
		if d > 0.004 { // where the ball all but stops in mid-air, the reference needs shorter steps itself
			x, y, _ = reference(s.l, s.c, 2.5e-4)
			d = miss(r.Carry, r.Offline, x, y)
		}
		if d > worst {
			worst, at = d, s
		}
		near(t, "hang time", r.HangTime, hang, 2e-3)
	}
	if worst > 0.01 {
		t.Errorf("the landing is %.4f m off for %+v, %s, wind %+v, landing at %g m", worst, at.l, at.c.Model.Name, at.c.Wind, at.c.LandingHeight)
	}
	if worstReference > 1e-3 {
		t.Errorf("the reference itself moves by %.5f m when its step is halved", worstReference)
	}
	t.Logf("%d flights: worst %.5f m; the reference moves by %.6f m when halved", n, worst, worstReference)
}

// The coefficients meet the conditions of order 5, and the error estimate is
// of order 4: its own weights vanish up to there.
func TestTableauOrder(t *testing.T) {
	a := [7][6]float64{{}, {a21}, {a31, a32}, {a41, a42, a43}, {a51, a52, a53, a54}, {a61, a62, a63, a64, a65}, {b1, b2, b3, b4, b5, b6}}
	b := [7]float64{b1, b2, b3, b4, b5, b6, 0}
	e := [7]float64{e1, e2, e3, e4, e5, e6, e7}
	var c [7]float64
	for i := range a {
		for _, v := range a[i] {
			c[i] += v
		}
	}
	apply := func(v [7]float64) (out [7]float64) {
		for i := range a {
			for j, w := range a[i] {
				out[i] += w * v[j]
			}
		}
		return out
	}
	mul := func(v, w [7]float64) (out [7]float64) {
		for i := range v {
			out[i] = v[i] * w[i]
		}
		return out
	}
	dot := func(v, w [7]float64) (sum float64) {
		for i := range v {
			sum += v[i] * w[i]
		}
		return sum
	}
	one := [7]float64{1, 1, 1, 1, 1, 1, 1}
	c2 := mul(c, c)
	trees := []struct {
		v    [7]float64
		want float64
		deg  int
	}{
		{one, 1, 1}, {c, 1. / 2, 2}, {c2, 1. / 3, 3}, {apply(c), 1. / 6, 3},
		{mul(c2, c), 1. / 4, 4}, {mul(c, apply(c)), 1. / 8, 4}, {apply(c2), 1. / 12, 4}, {apply(apply(c)), 1. / 24, 4},
		{mul(c2, c2), 1. / 5, 5}, {mul(c2, apply(c)), 1. / 10, 5}, {mul(apply(c), apply(c)), 1. / 20, 5}, {mul(c, apply(c2)), 1. / 15, 5},
		{apply(mul(c2, c)), 1. / 20, 5}, {mul(c, apply(apply(c))), 1. / 30, 5}, {apply(mul(c, apply(c))), 1. / 40, 5},
		{apply(apply(c2)), 1. / 60, 5}, {apply(apply(apply(c))), 1. / 120, 5},
	}
	for i, tree := range trees {
		near(t, "order condition", dot(b, tree.v), tree.want, 1e-12)
		if got := dot(e, tree.v); tree.deg <= 4 && math.Abs(got) > 1e-12 {
			t.Errorf("tree %d: the error weights give %g below order 5", i, got)
		}
	}
}
