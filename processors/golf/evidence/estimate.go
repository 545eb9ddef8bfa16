package evidence

import (
	"math"

	"gonum.org/v1/gonum/mathext"

	"fairlead/processors/golf/dispersion"
)

// estimate is what the shots alone say of one effect.
//
// A mean: change, its standard error (sd/√info) and degrees of freedom; the
// likelihood is Student's t. A tightness: change is the log ratio of scales
// that compares to F(d1, d2) after division by kappa (½ for a standard
// deviation, 1 for √|Σ|); the likelihood is exact under normality.
type estimate struct {
	change float64
	se     float64
	nb, nc int

	df, info, sd float64 // mean
	level        float64 // mean of all shots, weighted as its variance wants; for a target
	share        float64 // of the candidate in it
	weight       float64 // of all shots, in shots that would be independent

	tight        bool
	d1, d2       float64 // degrees, candidate and baseline
	kappa        float64
	spreadChange float64 // unbiased difference of log spreads
}

// driftSD is the prior standard deviation of a steady drift through the
// session, in shot-to-shot standard deviations per shot: over thirty shots a
// player may well have gained or lost a third of one, beside what they wander.
const driftSD = 0.01

// meanEstimate compares means by least squares with a level, the club, a level
// of each block of its own (normal with sd wander·σ: a player is not the same in
// each run of shots), and, where the order is known, a drift along the session,
// held by a prior of driftSD·σ. Both enter as further observations, so the
// residual has n−2 degrees (Henderson, Biometrics 31:423, 1975). False where
// either side has fewer than three values or all are equal.
func meanEstimate(value func(placed) (float64, bool), shots []placed, drift bool, wander float64) (estimate, bool) {
	var e estimate
	var y, z, p []float64
	var blocks []int
	for _, s := range shots {
		v, ok := value(s)
		if !ok {
			continue
		}
		y, p, blocks = append(y, v), append(p, float64(s.Position)), append(blocks, s.block)
		if s.candidate {
			z = append(z, 1)
			e.nc++
		} else {
			z = append(z, 0)
			e.nb++
		}
	}
	if e.nb < minPerSide || e.nc < minPerSide {
		return e, false
	}
	w := weigher(blocks, wander)
	one := make([]float64, len(y))
	for i := range one {
		one[i] = 1
	}
	// Everything about its weighted mean, so the level drops out of the equations.
	e.weight = w(one, one)
	centred := func(x []float64) (about []float64, middle float64) {
		middle = w(one, x) / e.weight
		about = make([]float64, len(x))
		for i := range x {
			about[i] = x[i] - middle
		}
		return about, middle
	}
	dy, middle := centred(y)
	dz, share := centred(z)
	dp := make([]float64, len(p))
	if drift {
		dp, _ = centred(p)
	}
	pp := w(dp, dp) + 1/(driftSD*driftSD)
	zp, py := w(dz, dp), w(dp, dy)
	e.info = w(dz, dz) - zp*zp/pp
	e.change = (w(dz, dy) - zp*py/pp) / e.info
	yy := w(dy, dy)
	rest := yy - py*py/pp - e.change*e.change*e.info
	n := float64(len(y))
	e.df = n - 2
	if !(rest > 1e-18*(yy+middle*middle*n)) || !(e.info > 0) {
		return e, false
	}
	e.sd = math.Sqrt(rest / e.df)
	e.se = e.sd / math.Sqrt(e.info)
	e.level, e.share = middle, share
	return e, true
}

// weigher returns the product aᵀV⁻¹b for values whose covariance is
// V = σ²(I + wander²·ZZᵀ), with Z their blocks, in units of 1/σ².
func weigher(blocks []int, wander float64) func(a, b []float64) float64 {
	index, of, sizes := map[int]int{}, make([]int, len(blocks)), []float64(nil)
	for i, b := range blocks {
		k, known := index[b]
		if !known {
			k = len(sizes)
			index[b], sizes = k, append(sizes, 0)
		}
		of[i] = k
		sizes[k]++
	}
	sums := make([][2]float64, len(sizes))
	return func(a, b []float64) float64 {
		sum := 0.0
		clear(sums)
		for i := range a {
			sum += a[i] * b[i]
			sums[of[i]][0] += a[i]
			sums[of[i]][1] += b[i]
		}
		for k, n := range sizes {
			sum -= wander * wander / (1 + n*wander*wander) * sums[k][0] * sums[k][1]
		}
		return sum
	}
}

// axisEstimate compares standard deviations: pooled squares of each side with
// their degrees of freedom, from dispersion about each block's own mean.
func axisEstimate(b, c pooled, axis int) (estimate, bool) {
	e := estimate{tight: true, kappa: 0.5, nb: b.n, nc: c.n, d1: float64(c.df), d2: float64(b.df)}
	if e.nb < minPerSide || e.nc < minPerSide || b.flat(axis) || c.flat(axis) {
		return e, false
	}
	e.change = 0.5 * (math.Log(c.a[2*axis]/e.d1) - math.Log(b.a[2*axis]/e.d2))
	e.spreadChange = e.change + 0.5*(math.Log(e.d1/2)-mathext.Digamma(e.d1/2)-math.Log(e.d2/2)+mathext.Digamma(e.d2/2))
	e.se = math.Sqrt(0.25*trigamma(e.d1/2) + 0.25*trigamma(e.d2/2))
	return e, true
}

// areaEstimate compares √|Σ|: with m degrees of freedom 2√(|A|/|Σ|) ~ χ² with
// 2m−2 (Anderson 2003 §7.5).
func areaEstimate(b, c pooled) (estimate, bool) {
	e := estimate{tight: true, kappa: 1, nb: b.n, nc: c.n, d1: float64(2*c.df - 2), d2: float64(2*b.df - 2)}
	sb, sc := b.scatter(), c.scatter()
	if e.nb < minPerSide || e.nc < minPerSide || sb.Singular() || sc.Singular() {
		return e, false
	}
	e.change = 0.5*(math.Log(sc.Det())-math.Log(sb.Det())) - math.Log(e.d1) + math.Log(e.d2)
	e.spreadChange = e.change + math.Log(e.d1/2) - mathext.Digamma(e.d1/2) - math.Log(e.d2/2) + mathext.Digamma(e.d2/2)
	e.se = math.Sqrt(trigamma(e.d1/2) + trigamma(e.d2/2))
	return e, true
}

// logLikelihood of a true effect, up to a constant.
func (e estimate) logLikelihood(effect float64) float64 {
	if !e.tight {
		t := (e.change - effect) / e.se
		return -(e.df + 1) / 2 * math.Log1p(t*t/e.df)
	}
	// ln of the density of ln F at lnF = (change − effect)/kappa.
	l := (e.change - effect) / e.kappa
	return e.d1/2*l - (e.d1+e.d2)/2*softplus(l+math.Log(e.d1/e.d2))
}

// softplus is ln(1+eˣ) without overflow.
func softplus(x float64) float64 {
	if x > 0 {
		return x + math.Log1p(math.Exp(-x))
	}
	return math.Log1p(math.Exp(x))
}

// posterior combines the likelihood with a prior, of which no doubt is kept back. Its
// logMass is that of a prior of unit height at its middle, times SD.
func (e estimate) posterior(p Prior) density {
	var d density
	var log float64 // ln of the mass so far, the prior normalised but for √(2π)
	for i, part := range p.parts() {
		one := integrate(func(x float64) float64 {
			z := (x - part.Mean) / part.SD
			return e.logLikelihood(x) - z*z/2
		}, e.change, part.Mean, min(e.se, part.SD))
		mass := one.logMass - math.Log(part.SD) + math.Log(p.share(i))
		if i == 0 {
			d, log = one, mass
			continue
		}
		first := 1 / (1 + math.Exp(min(mass-log, 700)))
		d, log = mix(d, one, first), log-math.Log(max(first, 1e-300))
	}
	d.logMass = log + math.Log(p.SD)
	return d
}

// pooled is the scatter of several blocks about their own means: what drift
// between blocks, or another swing length, shifts is not in it.
type pooled struct {
	n, df int
	a     [3]float64
	mean  [2]float64
}

func (p pooled) scatter() dispersion.Scatter {
	return dispersion.Scatter{N: p.df + 1, Mean: p.mean, A: p.a}
}

func (p pooled) flat(axis int) bool { return p.df < 1 || p.scatter().Flat(axis) }

func trigamma(x float64) float64 { return mathext.Zeta(2, x) }
