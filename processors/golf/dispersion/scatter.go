package dispersion

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat/distuv"
)

// Scatter is what a trial's points come down to: how many, their mean, and the
// scatter matrix A = Σ(x−x̄)(x−x̄)ᵀ as (A11, A12, A22). Units are those of the
// points. It is all that spread, ellipses and comparisons need.
type Scatter struct {
	N    int
	Mean [2]float64
	A    [3]float64
}

// ErrNotFinite is returned for points that are not numbers, or so large that
// their squares are none.
var ErrNotFinite = errors.New("not a finite number")

// ErrSingular is returned where the points lie on one line or on one spot, so
// that they span no area.
var ErrSingular = errors.New("the points span no area")

// NewScatter computes the scatter of points in two passes, in the order given:
// first the mean, then squares about it, less what rounding left in the mean
// (Chan, Golub & LeVeque 1983, Am. Stat. 37:242). No points give N = 0.
func NewScatter(points [][2]float64) (Scatter, error) {
	s := Scatter{N: len(points)}
	if s.N == 0 {
		return s, nil
	}
	n := float64(s.N)
	for i, p := range points {
		if !finite(p[0]) || !finite(p[1]) {
			return Scatter{}, fmt.Errorf("point %d (%g, %g): %w", i+1, p[0], p[1], ErrNotFinite)
		}
		s.Mean[0] += p[0]
		s.Mean[1] += p[1]
	}
	s.Mean[0] /= n
	s.Mean[1] /= n
	var r0, r1 float64
	for _, p := range points {
		d0, d1 := p[0]-s.Mean[0], p[1]-s.Mean[1]
		r0 += d0
		r1 += d1
		s.A[0] += d0 * d0
		s.A[1] += d0 * d1
		s.A[2] += d1 * d1
	}
	s.A[0] = max(s.A[0]-r0*r0/n, 0)
	s.A[1] -= r0 * r1 / n
	s.A[2] = max(s.A[2]-r1*r1/n, 0)
	if !finite(s.A[0]) || !finite(s.A[1]) || !finite(s.A[2]) {
		return Scatter{}, fmt.Errorf("scatter of %d points: %w", s.N, ErrNotFinite)
	}
	return s, nil
}

// Cov returns the sample covariance A/(n−1) as (S11, S12, S22); zero below two
// points.
func (s Scatter) Cov() [3]float64 {
	if s.N < 2 {
		return [3]float64{}
	}
	d := float64(s.N - 1)
	return [3]float64{s.A[0] / d, s.A[1] / d, s.A[2] / d}
}

// Det returns |A|, zero where rounding made it negative.
func (s Scatter) Det() float64 { return max(s.A[0]*s.A[2]-s.A[1]*s.A[1], 0) }

// Flat says that one axis (0 or 1) has no scatter that a device could have
// measured: less than 1e-9 of its mean.
func (s Scatter) Flat(axis int) bool {
	a := s.A[2*axis]
	return a <= 0 || math.Sqrt(a/float64(max(s.N, 1))) <= 1e-9*math.Abs(s.Mean[axis])
}

// Singular says that the points span no area: fewer than three, or on one
// line or spot to within rounding.
func (s Scatter) Singular() bool {
	return s.N < 3 || s.Flat(0) || s.Flat(1) || s.Det() <= 1e-12*s.A[0]*s.A[2]
}

// SpreadLn returns the unbiased estimate of ln|Σ|^½, y = ½ ln|A| − ψ(n−2), and
// its exact variance ψ′(n−2); from 2√(|A|/|Σ|) ~ χ² with 2n−4 degrees
// (Anderson 2003, An Introduction to Multivariate Statistical Analysis, §7.5).
// It needs three points that span an area, else ErrSingular.
func (s Scatter) SpreadLn() (y, variance float64, err error) {
	if s.Singular() {
		return 0, 0, fmt.Errorf("spread of %d points: %w", s.N, ErrSingular)
	}
	d := float64(s.N - 2)
	return 0.5*math.Log(s.Det()) - mathext.Digamma(d), trigamma(d), nil
}

// AxisSpreadLn returns the unbiased estimate of ln σ on one axis (0 or 1),
// ½ ln(Σr²/2) − ½ψ((n−1)/2), and its exact variance ¼ψ′((n−1)/2). It needs two
// points that differ, else ErrSingular.
func (s Scatter) AxisSpreadLn(axis int) (y, variance float64, err error) {
	if s.N < 2 || s.Flat(axis) {
		return 0, 0, fmt.Errorf("spread of %d points on one axis: %w", s.N, ErrSingular)
	}
	h := float64(s.N-1) / 2
	return 0.5*math.Log(s.A[2*axis]/2) - 0.5*mathext.Digamma(h), 0.25 * trigamma(h), nil
}

// spreadStat is SpreadLn with its exact interval at the level.
func (s Scatter) spreadStat(level float64) Stat {
	if s.N < MinSpread {
		return notYet(s.N, MinSpread)
	}
	y, _, err := s.SpreadLn()
	if err != nil {
		return without(s.N, "the shots lie on one line or one spot")
	}
	chi := distuv.ChiSquared{K: float64(2*s.N - 4)}
	top := math.Log(2) + 0.5*math.Log(s.Det())
	return stat(s.N, y, top-math.Log(chi.Quantile((1+level)/2)), top-math.Log(chi.Quantile((1-level)/2)))
}

// axisSpreadStat is AxisSpreadLn with its exact interval at the level.
func (s Scatter) axisSpreadStat(axis int, level float64) Stat {
	if s.N < MinSpread {
		return notYet(s.N, MinSpread)
	}
	y, _, err := s.AxisSpreadLn(axis)
	if err != nil {
		return without(s.N, "all shots are equal on this axis")
	}
	chi := distuv.ChiSquared{K: float64(s.N - 1)}
	ss := s.A[2*axis]
	return stat(s.N, y, 0.5*math.Log(ss/chi.Quantile((1+level)/2)), 0.5*math.Log(ss/chi.Quantile((1-level)/2)))
}

// eigen returns the eigenvalues of a symmetric matrix, larger first, and the
// direction of the larger in degrees from the first axis toward the second,
// in (−90, 90].
func eigen(m [3]float64) (l1, l2, tiltDeg float64) {
	half, diff := (m[0]+m[2])/2, (m[0]-m[2])/2
	root := math.Hypot(diff, m[1])
	l1 = half + root
	if l1 > 0 {
		l2 = max((m[0]*m[2]-m[1]*m[1])/l1, 0)
	}
	tiltDeg = 0.5 * math.Atan2(m[1], diff) * 180 / math.Pi
	if tiltDeg <= -90 {
		tiltDeg += 180
	}
	return l1, l2, tiltDeg
}

// trigamma is ψ′(x) = ζ(2, x), Hurwitz's zeta function.
func trigamma(x float64) float64 { return mathext.Zeta(2, x) }
