package flight

import (
	"math"
	"testing"
)

func TestQuickRoots(t *testing.T) {
	for x := 1e-12; x < 1e12; x *= 1.07 {
		if got := fifthRoot(x) / math.Pow(x, 0.2); math.Abs(got-1) > 0.02 {
			t.Fatalf("fifth root of %g is off by a factor %g", x, got)
		}
		if got := powTwoFifths(x) / math.Pow(x, 0.4); math.Abs(got-1) > 2e-8 {
			t.Fatalf("%g to the 0.4 is off by a factor 1%+g", x, got-1)
		}
	}
	for x := 0.0; x <= math.Pi/2; x += 0.001 {
		sin, cos := sincosSmall(x)
		near(t, "sine", sin, math.Sin(x), 1e-8)
		near(t, "cosine", cos, math.Cos(x), 1e-8)
		level, down := math.Sincos(x)
		near(t, "angle from the vertical", fromVertical(level, down), x, 1e-7)
	}
}
