package profile

import (
	"math"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// MinShots is how few shots of a quantity can say anything about it.
const MinShots = 4

// Estimate is one term of a profile. While Known is false there were fewer
// than MinShots shots of it: 'not yet', More shots to go, and the figures are 0.
type Estimate struct {
	Term  Term
	N     int
	Known bool
	More  int
	Mean  float64 // the player's mean (strike scatter: the scatter), in the term's unit
	SE    float64 // standard error of Mean
	DF    float64 // degrees of freedom of SE
	SD    float64 // from shot to shot; for strike scatter 0
	// Shift is what adjusting for the build added to the mean; its own
	// uncertainty is in SE, and ShotSE is the error of the shots alone.
	Shift  float64
	ShotSE float64
}

// newEstimate describes a mean: t with n−1 degrees.
func newEstimate(t Term, values []float64) Estimate {
	n := len(values)
	if n < MinShots {
		return Estimate{Term: t, N: n, More: MinShots - n}
	}
	mean, sd := stat.MeanStdDev(values, nil)
	return ofMean(t, n, mean, sd)
}

// ofMean describes a mean whose shots have the standard deviation sd.
func ofMean(t Term, n int, mean, sd float64) Estimate {
	r := facts[t].resolution
	se := math.Sqrt(math.Max(sd*sd, r*r/12) / float64(n))
	return Estimate{Term: t, N: n, Known: true, Mean: mean, SE: se, ShotSE: se, DF: float64(n - 1), SD: sd}
}

// newScatter describes the scatter of the strike, σ = √((σx² + σy²)/2), from
// paired strikes. The mean of the two sample variances is, by Satterthwaite
// (1946, Biometrics Bulletin 2:110), near σ²χ²/ν with
// ν = (n−1)(tr Σ)²/tr(Σ²): 2(n−1) for a round scatter, n−1 for a line. Mean is
// unbiased: the root of the variance divided by c4 for ν.
func newScatter(x, y []float64) Estimate {
	n := len(x)
	if n < MinShots {
		return Estimate{Term: StrikeScatter, N: n, More: MinShots - n}
	}
	r := facts[StrikeScatter].resolution
	vx := math.Max(stat.Variance(x, nil), r*r/12)
	vy := math.Max(stat.Variance(y, nil), r*r/12)
	return scatterEstimate(n, vx, vy, stat.Covariance(x, y, nil))
}

func scatterEstimate(n int, vx, vy, cov float64) Estimate {
	trace := vx + vy
	df := scatterDF(float64(n-1), trace*trace, vx*vx+vy*vy+2*cov*cov)
	c4 := c4(df)
	mean := math.Sqrt(trace/2) / c4
	se := mean * math.Sqrt(1/(c4*c4)-1)
	return Estimate{Term: StrikeScatter, N: n, Known: true, Mean: mean, SE: se, ShotSE: se, DF: df}
}

// scatterDF estimates ν from the squared trace and the trace of the square of
// a sample covariance with m degrees. A sample looks longer than its truth, so
// the plain ratio would be too small (intervals too wide); the moments of the
// Wishart distribution, E tr(S²) = q(1+1/m) + r/m and E (tr S)² = r + 2q/m,
// are solved for r = (tr Σ)² and q = tr(Σ²) instead.
func scatterDF(m, squaredTrace, traceOfSquare float64) float64 {
	q := (traceOfSquare - squaredTrace/m) / (1 + 1/m - 2/(m*m))
	r := squaredTrace - 2*q/m
	if q <= r/2 {
		return 2 * m
	}
	return m * math.Max(1, r/q)
}

// c4 is the mean of a sample standard deviation with ν degrees over the true one.
func c4(df float64) float64 {
	a, _ := math.Lgamma((df + 1) / 2)
	b, _ := math.Lgamma(df / 2)
	return math.Sqrt(2/df) * math.Exp(a-b)
}

// Below is the probability that the true value is less than x: from the t
// posterior under a flat prior, and for the scatter from the scaled inverse χ²
// posterior (a prior flat in its logarithm).
func (e Estimate) Below(x float64) float64 {
	if !e.Known {
		return 0
	}
	if e.Term == StrikeScatter {
		if x <= 0 {
			return 0
		}
		s := e.Mean * c4(e.DF)
		return 1 - distuv.ChiSquared{K: e.DF}.CDF(e.DF*s*s/(x*x))
	}
	return distuv.StudentsT{Mu: e.Mean, Sigma: e.SE, Nu: e.DF}.CDF(x)
}

// Interval is the central interval of a level such as 0.95; 0, 0 while the
// estimate is not known.
func (e Estimate) Interval(level float64) (low, high float64) {
	if !e.Known || !(level > 0 && level < 1) {
		return 0, 0
	}
	if e.Term == StrikeScatter {
		s := e.Mean * c4(e.DF)
		chi := distuv.ChiSquared{K: e.DF}
		return s * math.Sqrt(e.DF/chi.Quantile(0.5+level/2)), s * math.Sqrt(e.DF/chi.Quantile(0.5-level/2))
	}
	half := e.SE * distuv.StudentsT{Mu: 0, Sigma: 1, Nu: e.DF}.Quantile(0.5+level/2)
	return e.Mean - half, e.Mean + half
}

// model is the estimate as models take it: for the scatter its logarithm,
// unbiased with its exact variance for a χ² on ν degrees
// (ln s − ½[ψ(ν/2) − ln(ν/2)], variance ¼ψ′(ν/2)); else mean and SE².
func (e Estimate) model() (value, variance float64) {
	if e.Term != StrikeScatter {
		return e.Mean, e.SE * e.SE
	}
	half := e.DF / 2
	s := e.Mean * c4(e.DF)
	return math.Log(s) - 0.5*(mathext.Digamma(half)-math.Log(half)), 0.25 * mathext.Zeta(2, half)
}
