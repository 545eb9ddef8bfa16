package dispersion

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"fairlead/deploy/proof"
)

// TestSharesByCounting: what is said of a normal scatter with a mean and a covariance is
// what a great many of its shots do: a round one has nine tenths within σ√(2 ln 10), any
// other within the distance that holds them, and on targets of both shapes as many finish.
func TestSharesByCounting(t *testing.T) {
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
		green := Target{Along: long * g.NormFloat64(), Across: long * g.NormFloat64(), Length: long * (0.5 + 2*g.Float64()),
			Width: long * (0.5 + 2*g.Float64()), Elliptical: true}
		box := green
		box.Elliptical = false
		within, on, in := 0, 0, 0
		for _, s := range shots {
			u, v := long*s[0], long*ratio*s[1]
			x, y := mean[0]+u*cos-v*sin, mean[1]+u*sin+v*cos
			if math.Hypot(x, y) <= r {
				within++
			}
			if green.holds(x, y) {
				on++
			}
			if box.holds(x, y) {
				in++
			}
		}
		for _, c := range []struct {
			what string
			hits int
			said float64
		}{{"within the distance", within, 0.9}, {"on an ellipse", on, green.share(mean, cov)}, {"on a rectangle", in, box.share(mean, cov)}} {
			if share := float64(c.hits) / n; math.Abs(share-c.said) > 4*math.Sqrt(c.said*(1-c.said)/n)+0.002 {
				t.Errorf("mean %v, covariance %v, %+v: %g of the shots are %s, %g said", mean, cov, green, share, c.what, c.said)
			}
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
