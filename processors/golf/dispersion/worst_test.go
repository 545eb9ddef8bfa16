package dispersion

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"fairlead/deploy/proof"
)

// TestDistanceHolding: about the aim itself a round scatter has σ√(2 ln 10); any other
// holds nine tenths, by counting.
func TestDistanceHolding(t *testing.T) {
	if r := distanceHolding([2]float64{}, [3]float64{64, 0, 64}, 0.9); math.Abs(r-8*math.Sqrt(2*math.Log(10))) > 1e-4 {
		t.Errorf("a round scatter with sd 8: %g", r)
	}
	const n = 40000
	g := rand.New(rand.NewPCG(7, 7))
	shots := make([][2]float64, n)
	for i := range shots {
		shots[i] = [2]float64{g.NormFloat64(), g.NormFloat64()}
	}
	for range 60 {
		long, ratio, turn := 2+20*g.Float64(), math.Exp(-2.5*g.Float64()), math.Pi*g.Float64()
		sin, cos := math.Sincos(turn)
		a, b := long*long, long*long*ratio*ratio
		cov := [3]float64{a*cos*cos + b*sin*sin, (a - b) * sin * cos, a*sin*sin + b*cos*cos}
		mean := [2]float64{long * 2 * g.NormFloat64(), long * 2 * g.NormFloat64()}
		r := distanceHolding(mean, cov, 0.9)
		within := 0
		for _, s := range shots {
			u, v := long*s[0], long*ratio*s[1]
			if math.Hypot(mean[0]+u*cos-v*sin, mean[1]+u*sin+v*cos) <= r {
				within++
			}
		}
		if share := float64(within) / n; math.Abs(share-0.9) > 4*math.Sqrt(0.09/n)+0.001 {
			t.Errorf("mean %v, covariance %v: within %g m are %g of the shots", mean, cov, r, share)
		}
	}
}

func TestSmallestAt(t *testing.T) {
	proof.Check(t, func(t *rapid.T) {
		v := rapid.SliceOfN(rapid.Map(rapid.IntRange(0, 12), func(i int) float64 { return float64(i) }), 1, 40).Draw(t, "values")
		k := rapid.IntRange(0, len(v)-1).Draw(t, "k")
		want := slices.Sorted(slices.Values(v))[k]
		if got := smallestAt(v, k); got != want {
			t.Errorf("%g, want %g", got, want)
		}
	})
}

// TestNearest: of equal distances the first points are taken, h in all.
func TestNearest(t *testing.T) {
	proof.Check(t, func(t *rapid.T) {
		d := rapid.SliceOfN(rapid.Map(rapid.IntRange(0, 9), func(i int) float64 { return float64(i) }), 4, 30).Draw(t, "distances")
		c := concentrator{h: rapid.IntRange(1, len(d)).Draw(t, "h"), dist: d, scratch: make([]float64, len(d))}
		c.nearest()
		order := make([]int, len(d))
		for i := range order {
			order[i] = i
		}
		slices.SortStableFunc(order, func(a, b int) int { return int(d[a] - d[b]) })
		want := slices.Sorted(slices.Values(order[:c.h]))
		if !slices.Equal(c.subset, want) {
			t.Errorf("%v, want %v of %v", c.subset, want, d)
		}
	})
}
