package evidence

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

func TestHoldingOverAVisit(t *testing.T) {
	for _, c := range []struct {
		values []float64
		want   []bool
	}{
		{nil, []bool{}},
		{[]float64{19.9}, []bool{false}},
		{[]float64{20}, []bool{true}},
		{[]float64{25, 1, 0, 2}, []bool{false, false, false, false}},     // alone it would hold
		{[]float64{80, 1, 0, 2}, []bool{true, false, false, false}},      // 4/.05
		{[]float64{41, 1, 45, 2}, []bool{true, false, true, false}},      // two need half as much each
		{[]float64{20, 20, 1e12, 20}, []bool{true, true, true, true}},    // all four
		{[]float64{20, 19, 1e12, 20}, []bool{false, false, true, false}}, // three need 26.7
	} {
		if got := Holding(c.values, 0.05); !slices.Equal(got, c.want) {
			t.Errorf("%v: %v, want %v", c.values, got, c.want)
		}
	}
}

// Forty statements of a visit in which nothing differs: single e-values reach 20
// in many visits, and what holds over the visit is said in at most one of twenty.
// The values of one visit share a part, as outcomes of the same shots do.
func TestNothingHoldsWhereNothingDiffers(t *testing.T) {
	r := rand.New(rand.NewPCG(14, 2))
	const visits, statements = 4000, 40
	alone, whole := 0, 0
	for range visits {
		shared := r.NormFloat64()
		values := make([]float64, statements)
		for i := range values {
			z := 0.5*shared + math.Sqrt(0.75)*r.NormFloat64()
			values[i] = normalEValue(z, 1, 2)
		}
		if slices.Max(values) >= 20 {
			alone++
		}
		if slices.Contains(Holding(values, 0.05), true) {
			whole++
		}
	}
	if share := float64(whole) / visits; share > 0.05 {
		t.Errorf("something holds in %.3f of visits with one club", share)
	}
	if float64(alone) < 0.05*visits {
		t.Errorf("single e-values reach 20 in %d of %d visits: the test has nothing to guard against", alone, visits)
	}
}
