package sim

import (
	"math"
	"math/rand/v2"
	"testing"
)

// What the lot gave suits the players no better than what it left, as often as its
// chances say; what a fitter with hunches gave suits them better, in slopes of their own
// that no trait tells. So drawn and chosen rows say different things of the same clubs,
// and the lot's are true.
func TestLotsAndHunches(t *testing.T) {
	f := newFleet(t, FleetOptions{Players: 10, Seed: 4, Lots: 0.5, Hunch: 1})
	r := rand.New(rand.NewPCG(4, 4))
	type sum struct{ n, x, xx float64 }
	var by [2]sum // chosen, drawn: what the player's own slopes make of the club
	var chances, inverse float64
	for i := range 6000 {
		p := f.Player(i)
		own := drawGamer(r, 0)
		club, how := f.choose(r, &p, own, false)
		k := 0
		switch how.why {
		case "drawn":
			k = 1
			if !(how.chance >= 0.3 && how.chance <= 0.7) || how.offered != 2 {
				t.Fatalf("%+v", how)
			}
			chances += how.chance
			inverse += 1 / how.chance
		case "fitter":
			if how.chance != 0 || how.offered != 0 {
				t.Fatalf("%+v", how)
			}
		default:
			t.Fatalf("%+v", how)
		}
		x := 0.0
		mine := f.builds.of(own, true, false)
		for a := range attributes {
			x += (club.steps[a] - mine.steps[a]) * p.Direction[a]
		}
		by[k] = sum{by[k].n + 1, by[k].x + x, by[k].xx + x*x}
	}
	z := func(s sum) float64 { return s.x / math.Sqrt(s.xx) }
	if math.Abs(z(by[1])) > 3.5 || z(by[0]) > -8 {
		t.Errorf("own slopes: %.1f standard errors where the lot chose, %.1f where a fitter did", z(by[1]), z(by[0]))
	}
	// Of two that are on offer, those drawn weighed by the inverse of their chance count for two.
	if n := by[1].n; math.Abs(inverse/n-2) > 0.05 || math.Abs(n-3000) > 150 {
		t.Errorf("%v drawn of 6000, weighed by their chances %v each", n, inverse/n)
	}
	t.Logf("%v drawn (mean chance %.3f): own slopes %+.1f standard errors; chosen %+.1f", by[1].n, chances/by[1].n, z(by[1]), z(by[0]))
}
