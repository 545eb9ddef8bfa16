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

func TestNumbersOfASpan(t *testing.T) {
	for _, c := range []struct {
		v, span float64
		want    string
	}{{0.0645, 14, "+0.1"}, {-0.0955, 14, "−0.1"}, {-0.01, 14, "0.0"},
		{0.01, 14, "0.0"}, {4.76, 14, "+4.8"}, {-12.4, 200, "−12"}, {0.0123, 0.1, "+0.012"}} {
		if got := told(c.span).Signed(c.v); got != c.want {
			t.Errorf("%g of a span of %g: %s, want %s", c.v, c.span, got, c.want)
		}
	}
}
