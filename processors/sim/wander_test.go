package sim

import (
	"math"
	"math/rand/v2"
	"testing"
)

// A fleet that is asked to wander as the bays do does: the own club's two runs of a
// session differ by it, beside what few shots leave open.
func TestBothWorldsWanderAsTheySay(t *testing.T) {
	bays := RunWander(drift, driftMemory, 10)
	if math.Abs(bays-0.30) > 0.01 {
		t.Errorf("bays wander by %.3f of the scatter", bays)
	}
	r := rand.New(rand.NewPCG(5, 5))
	at, n, xx := 0.0, 4000.0, 0.0
	for range int(n) {
		at = drift * r.NormFloat64()
		mean := 0.0
		for range 10 {
			at = driftMemory*at + math.Sqrt(1-driftMemory*driftMemory)*drift*r.NormFloat64()
			mean += at / 10
		}
		xx += mean * mean / n
	}
	if share := math.Sqrt(xx); math.Abs(share/bays-1) > 0.05 {
		t.Errorf("runs of ten that drift as a bay's swings do differ by %.3f, the formula says %.3f", share, bays)
	}
	for _, c := range []struct{ asked, low, high float64 }{{0, 0.04, 0.16}, {bays, 0.25, 0.37}} {
		f := newFleet(t, FleetOptions{Players: 1500, Seed: 11, Shots: 12, Wander: c.asked})
		sum, of := 0.0, 0.0
		for number := range 1500 {
			b := f.newBayRows(0, 0)
			p := f.Player(number)
			f.session(b, &p, 1, 0)
			runs := &b.t
			first, last := 0, len(runs.part)-1
			if !runs.gamer[last] || last == 0 {
				continue
			}
			k1, k2 := float64(runs.n[first]), float64(runs.n[last])
			v := (runs.cc[first] + runs.cc[last]) / (k1 + k2 - 2)
			d := runs.carry[first] - runs.carry[last]
			sum += (d*d/v - 1/k1 - 1/k2) / 2
			of++
		}
		if share := math.Sqrt(max(sum/of, 0)); share < c.low || share > c.high {
			t.Errorf("asked for %.2f, carries of %v players wander by %.3f of the scatter", c.asked, of, share)
		} else {
			t.Logf("asked for %.2f, carries of %v players wander by %.3f of the scatter", c.asked, of, share)
		}
	}
}
