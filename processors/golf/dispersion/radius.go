package dispersion

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// EllipticalRadius returns the radius of the circle about the centre that
// holds the share p of shots scattered normally with standard deviations s1
// and s2 along their principal axes (any order, not both zero). It is exact:
// with x = s1·ρcosθ, y = s2·ρsinθ the share within R is
// 1 − (2/π)∫₀^{π/2} exp(−R²/[2(s1²cos²θ+s2²sin²θ)]) dθ, a smooth periodic
// integrand that the midpoint rule integrates to rounding.
// For s1 = s2 = σ it is the circular σ√(−2 ln(1−p)).
func EllipticalRadius(s1, s2, p float64) (float64, error) {
	big, small := math.Max(math.Abs(s1), math.Abs(s2)), math.Min(math.Abs(s1), math.Abs(s2))
	if !finite(big) || !finite(small) || big == 0 || !(p > 0 && p < 1) {
		return 0, fmt.Errorf("radius holding %g of shots with sd %g and %g: %w", p, s1, s2, ErrNotFinite)
	}
	return big * unitRadius(small/big, p), nil
}

// unitRadius is EllipticalRadius for standard deviations 1 and ratio ≤ 1.
func unitRadius(ratio, p float64) float64 {
	const nodes = 200
	var variance [nodes]float64
	for i := range variance {
		sin, cos := math.Sincos((float64(i) + 0.5) * math.Pi / 2 / nodes)
		variance[i] = cos*cos + ratio*ratio*sin*sin
	}
	outside := func(r float64) float64 {
		sum := 0.0
		for _, v := range variance {
			sum += math.Exp(-r * r / 2 / v)
		}
		return sum / nodes
	}
	// A circle of sd 1 holds less, a line of sd 1 holds more, than the ellipse.
	low, high := 0.0, math.Sqrt(-2*math.Log1p(-p))*1.000001
	above, below, lastLow := p, outside(high)-(1-p), true
	for range 60 {
		mid := (low*below - high*above) / (below - above)
		f := outside(mid) - (1 - p)
		if math.Abs(f) < 1e-14 || high-low < 1e-14*high {
			return mid
		}
		// Regula falsi, halving the value of an end that stood still (Illinois).
		if f > 0 {
			if low, above = mid, f; lastLow {
				below /= 2
			}
		} else {
			if high, below = mid, f; !lastLow {
				above /= 2
			}
		}
		lastLow = f > 0
	}
	return (low + high) / 2
}

// C4 is the mean of s/σ for a standard deviation from n normal values:
// √(2/(n−1))·Γ(n/2)/Γ((n−1)/2). Below 2 it returns 0. n need not be whole.
func C4(n float64) float64 {
	if !(n >= 2) || math.IsInf(n, 1) {
		return 0
	}
	a, _ := math.Lgamma(n / 2)
	b, _ := math.Lgamma((n - 1) / 2)
	return math.Sqrt(2/(n-1)) * math.Exp(a-b)
}

// radiusStat estimates the radius about the centre that holds the share p.
//
// The interval treats the radius as a scale with degrees of freedom of its
// own: ln R moves by w1 and w2 (w1+w2 = 1) with the logs of the two principal
// standard deviations, each known with variance ¼ψ′((n−1)/2); the degrees are
// those of the χ² whose log has the resulting variance. That is exact for a
// circle up to ψ′ and for a line, and in between simulation shows what it holds.
func (s Scatter) radiusStat(p, level float64) Stat {
	if s.N < MinSpread {
		return notYet(s.N, MinSpread)
	}
	if s.Singular() {
		return without(s.N, "the shots lie on one line or one spot")
	}
	l1, l2, _ := eigen(s.Cov())
	s1, s2 := math.Sqrt(l1), math.Sqrt(l2)
	r, err := EllipticalRadius(s1, s2, p)
	if err != nil {
		return without(s.N, err.Error())
	}
	const h = 1e-3
	up := s1 * unitRadius(s2*math.Exp(h)/s1, p) // a ratio just above 1 is still well defined
	down := s1 * unitRadius(s2*math.Exp(-h)/s1, p)
	w2 := min(max((math.Log(up)-math.Log(down))/(2*h), 0), 1)
	w1 := 1 - w2
	df := invTrigamma((w1*w1+w2*w2)*trigamma(float64(s.N-1)/2)) * 2
	chi := distuv.ChiSquared{K: df}
	r /= C4(df + 1)
	base := r * C4(df+1) * math.Sqrt(df)
	return stat(s.N, r, base/math.Sqrt(chi.Quantile((1+level)/2)), base/math.Sqrt(chi.Quantile((1-level)/2)))
}

// invTrigamma solves ψ′(x) = y for x > 0 by bisection on ln x.
func invTrigamma(y float64) float64 {
	low, high := math.Log(1e-6), math.Log(1e9)
	for range 100 {
		mid := (low + high) / 2
		if trigamma(math.Exp(mid)) > y {
			low = mid
		} else {
			high = mid
		}
	}
	return math.Exp((low + high) / 2)
}
