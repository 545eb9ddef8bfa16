package draw

import (
	"math"
	"testing"

	"fairlead/deploy/proof"

	"pgregory.net/rapid"
)

func TestStep(t *testing.T) {
	proof.Check(t, func(t *rapid.T) {
		span := math.Pow(10, rapid.Float64Range(-6, 6).Draw(t, "magnitude"))
		s := Step(span, 5)
		if s < span/5 || s > span/5*2.5*(1+1e-9) {
			t.Fatalf("a span of %v has lines %v apart", span, s)
		}
	})
	for _, span := range []float64{0, -1, math.NaN(), math.Inf(1)} {
		if s := Step(span, 5); s != 1 {
			t.Errorf("a span of %v has lines %v apart", span, s)
		}
	}
}
