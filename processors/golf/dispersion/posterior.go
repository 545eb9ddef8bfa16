package dispersion

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// draw is one plausible truth behind a trial: a mean and a covariance.
type draw struct {
	mean [2]float64
	cov  [3]float64
}

// posteriorDraws is half the number of draws: each comes with its mirror.
const posteriorDraws = 256

// posterior draws means and covariances that could have given the scatter: Σ is
// inverse Wishart with n+1 degrees and scale A (the prior |Σ|^(−5/2)), the mean
// given Σ is normal with covariance Σ/n. The usual reference prior |Σ|^(−3/2)
// (Geisser & Cornfield 1963, J. R. Stat. Soc. B 25:368) predicts the next shot
// exactly, but its intervals for the share of shots on a piece of ground hold
// the truth in 80 % of six-shot trials only; with two more degrees they hold it
// in 92 to 97 %, which a test watches. The draws are a fixed low-discrepancy
// sequence (Kronecker's, with the roots of x⁶ = x + 1), so equal shots give
// equal answers, and each is taken together with its mirror across the target
// line, so a mirrored trial gives mirrored draws. A singular scatter has none.
func (s Scatter) posterior() []draw {
	if s.Singular() {
		return nil
	}
	n := float64(s.N)
	l11 := math.Sqrt(s.A[0])
	l21 := s.A[1] / l11
	l22 := math.Sqrt(max(s.A[2]-l21*l21, 0))
	first, second := distuv.ChiSquared{K: n + 1}, distuv.ChiSquared{K: n}
	const root = 1.1347241384015194 // of x⁶ = x + 1
	var step, at [5]float64
	for i := range step {
		step[i] = math.Pow(root, -float64(i+1))
		at[i] = 0.5
	}
	out := make([]draw, 0, 2*posteriorDraws)
	for range posteriorDraws {
		for i := range at {
			at[i] = math.Mod(at[i]+step[i], 1)
		}
		// B = TTᵀ is Wishart (Bartlett 1933); Σ = L·B⁻¹·Lᵀ with A = LLᵀ.
		t11, t22 := math.Sqrt(first.Quantile(at[0])), math.Sqrt(second.Quantile(at[1]))
		t21, z1, z2 := normalQuantile(at[2]), normalQuantile(at[3]), normalQuantile(at[4])
		for _, sign := range [2]float64{1, -1} {
			// U = L·T⁻ᵀ, upper part times lower: T⁻ᵀ = [1/t11, −t21/(t11t22); 0, 1/t22].
			a, b, c := 1/t11, -sign*t21/(t11*t22), 1/t22
			u11, u12 := l11*a, l11*b
			u21, u22 := l21*a, l21*b+l22*c
			cov := [3]float64{u11*u11 + u12*u12, u11*u21 + u12*u22, u21*u21 + u22*u22}
			c11 := math.Sqrt(cov[0])
			c21 := cov[1] / c11
			c22 := math.Sqrt(max(cov[2]-c21*c21, 0))
			out = append(out, draw{
				mean: [2]float64{s.Mean[0] + c11*z1/math.Sqrt(n), s.Mean[1] + (c21*z1+c22*sign*z2)/math.Sqrt(n)},
				cov:  cov,
			})
		}
	}
	return out
}

func normalQuantile(p float64) float64 { return distuv.UnitNormal.Quantile(p) }

// middle returns the two quantiles that hold the middle share of values; it
// sorts them.
func middle(values []float64, level float64) (low, high float64) {
	slices.Sort(values)
	return quantile(values, (1-level)/2), quantile(values, (1+level)/2)
}

// quantile interpolates in sorted values.
func quantile(sorted []float64, p float64) float64 {
	at := p*float64(len(sorted)) - 0.5
	i := int(math.Floor(at))
	switch {
	case i < 0:
		return sorted[0]
	case i >= len(sorted)-1:
		return sorted[len(sorted)-1]
	}
	return sorted[i] + (at-float64(i))*(sorted[i+1]-sorted[i])
}
