package dispersion

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Comparison sets the scatter of a candidate against a baseline's. Delta is
// the candidate's spread less the baseline's (negative: tighter) on the log
// scale, with its exact variance. F is the ratio [√|A_b|/(n_b−2)] ÷
// [√|A_c|/(n_c−2)], above 1 where the candidate is tighter; it follows
// F(2n_b−4, 2n_c−4) when both are equally wide, and P is the two-sided
// probability of a ratio at least as extreme.
type Comparison struct{ Delta, Variance, F, P float64 }

// Compare compares two scatters with at least three points each, of the same
// units; else it returns ErrSingular.
func Compare(baseline, candidate Scatter) (Comparison, error) {
	yb, vb, err := baseline.SpreadLn()
	if err != nil {
		return Comparison{}, fmt.Errorf("baseline: %w", err)
	}
	yc, vc, err := candidate.SpreadLn()
	if err != nil {
		return Comparison{}, fmt.Errorf("candidate: %w", err)
	}
	nb, nc := float64(baseline.N), float64(candidate.N)
	c := Comparison{Delta: yc - yb, Variance: vb + vc}
	c.F = math.Exp(0.5*math.Log(baseline.Det())-0.5*math.Log(candidate.Det())) * (nc - 2) / (nb - 2)
	upper := distuv.F{D1: 2*nb - 4, D2: 2*nc - 4}.Survival(c.F)
	c.P = min(2*min(upper, 1-upper), 1)
	return c, nil
}

// AreaPrior is an inverse Wishart prior IW(Nu, Psi) for a covariance; Psi as
// (11, 12, 22), in the squared units of the points. Nu must exceed 1.
type AreaPrior struct {
	Nu  float64
	Psi [3]float64
}

// ProbTighter returns the probability that the candidate's true area is
// smaller than the baseline's. The posterior of each covariance is
// IW(ν = Nu+n−1, Psi+A), for which √|Σ| = 2√|Psi+A|/χ² with 2ν−2 degrees, so
// the answer is one value of an F distribution. A proper prior answers from no
// shots at all; ErrSingular is returned where prior and shots span no area.
func (p AreaPrior) ProbTighter(baseline, candidate Scatter) (float64, error) {
	root := func(s Scatter) (float64, float64, error) {
		a := [3]float64{p.Psi[0] + s.A[0], p.Psi[1] + s.A[1], p.Psi[2] + s.A[2]}
		det, nu := a[0]*a[2]-a[1]*a[1], p.Nu+float64(max(s.N, 1)-1)
		if !(det > 0) || !(nu > 1) || !finite(det) {
			return 0, 0, fmt.Errorf("area of %d points under IW(%g): %w", s.N, p.Nu, ErrSingular)
		}
		return math.Sqrt(det), 2*nu - 2, nil
	}
	rb, db, err := root(baseline)
	if err != nil {
		return 0, err
	}
	rc, dc, err := root(candidate)
	if err != nil {
		return 0, err
	}
	// The candidate is tighter when χ²_b/χ²_c < rb/rc.
	return distuv.F{D1: db, D2: dc}.CDF(rb / rc * dc / db), nil
}
