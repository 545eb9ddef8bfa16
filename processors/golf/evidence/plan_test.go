package evidence

import (
	"math"
	"testing"
)

// Near equals are drawn in proportion to what they are worth; the best alone is hit, and
// no chance gets small.
func TestNearEqualsHaveChances(t *testing.T) {
	for _, c := range []struct {
		worth []float64
		want  []float64 // chances, best first
	}{
		{nil, nil},
		{[]float64{0.4}, nil},
		{[]float64{0.4, 0.1}, nil},                 // no near equal
		{[]float64{0, 0, 0}, nil},                  // nothing to learn
		{[]float64{0.2, 0.3}, []float64{0.6, 0.4}}, // the better first
		{[]float64{0.4, 0.4, 0.05}, []float64{0.5, 0.5}},
		{[]float64{0.3, 0.3, 0.3, 0.3, 0.3, 0.3}, []float64{0.25, 0.25, 0.25, 0.25}},
		{[]float64{0.2, 0.4, 0.2}, []float64{0.5, 0.25, 0.25}},
	} {
		var lots []Lot
		for _, w := range c.worth {
			lots = append(lots, Lot{Build: "x", Worth: w})
		}
		got := chances(lots)
		if len(got) != len(c.want) {
			t.Errorf("%v: %+v", c.worth, got)
			continue
		}
		sum := 0.0
		for i, l := range got {
			sum += l.Chance
			if math.Abs(l.Chance-c.want[i]) > 1e-12 {
				t.Errorf("%v: %+v", c.worth, got)
			}
		}
		if len(got) > 0 && math.Abs(sum-1) > 1e-12 {
			t.Errorf("%v: chances add up to %v", c.worth, sum)
		}
	}
}
