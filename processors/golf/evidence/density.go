package evidence

import (
	"math"
	"sort"
)

// density is a probability density of an effect on a grid: where (ascending),
// and the cumulative probability there, with the density for interpolation.
type density struct {
	x, cdf, pdf []float64
	logMass     float64 // ln of the integral of what was normalised
}

// gridPoints and gridReach shape the grid: x = mode + scale·sinh(u), so that
// it is fine at the mode and reaches some fifty scales out, which holds the
// long tails of few shots.
const (
	gridPoints = 161
	gridReach  = 4.6
)

// integrate normalises exp(logf). The two guesses are where its mass may lie
// (the estimate, the prior's mean), narrow the smaller of their standard
// deviations; logf must fall off beyond them.
func integrate(logf func(float64) float64, guess1, guess2, narrow float64) density {
	mode := peak(logf, guess1, guess2)
	h := narrow * 1e-2
	curve := (2*logf(mode) - logf(mode-h) - logf(mode+h)) / (h * h)
	scale := narrow
	if curve > 0 {
		scale = min(max(1/math.Sqrt(curve), narrow*0.3), narrow*3)
	}
	d := density{x: make([]float64, gridPoints), cdf: make([]float64, gridPoints), pdf: make([]float64, gridPoints)}
	top := logf(mode)
	slope := make([]float64, gridPoints)
	const step = 2 * gridReach / (gridPoints - 1)
	for i := range d.x {
		u := -gridReach + float64(i)*step
		d.x[i] = mode + scale*math.Sinh(u)
		d.pdf[i] = math.Exp(logf(d.x[i]) - top)
		slope[i] = d.pdf[i] * scale * math.Cosh(u) * step // of the sum, for one step of u
	}
	total := 0.0
	for i := 1; i < gridPoints; i++ {
		// The cubic through four points; beyond the ends there is nothing.
		inner, outer := slope[i-1]+slope[i], 0.0
		if i >= 2 {
			outer += slope[i-2]
		}
		if i+1 < gridPoints {
			outer += slope[i+1]
		}
		total += max((13*inner-outer)/24, 0)
		d.cdf[i] = total
	}
	for i := range d.cdf {
		d.cdf[i] /= total
		d.pdf[i] /= total
	}
	d.logMass = top + math.Log(total)
	return d
}

// peak finds the highest point between (and a little around) two guesses.
func peak(logf func(float64) float64, a, b float64) float64 {
	low, high := min(a, b), max(a, b)
	const parts = 24
	best, at := math.Inf(-1), low
	step := (high - low) / parts
	for i := 0; i <= parts; i++ {
		x := low + float64(i)*step
		if v := logf(x); v > best {
			best, at = v, x
		}
	}
	left, right := at-step, at+step
	const golden = 0.6180339887498949
	for range 40 {
		p, q := right-golden*(right-left), left+golden*(right-left)
		if logf(p) > logf(q) {
			right = q
		} else {
			left = p
		}
	}
	return (left + right) / 2
}

// below is the probability of a value under c.
func (d density) below(c float64) float64 {
	i := sort.SearchFloat64s(d.x, c)
	switch {
	case i == 0:
		return 0
	case i == len(d.x):
		return 1
	}
	// Cubic Hermite: the density is the slope.
	w := d.x[i] - d.x[i-1]
	t := (c - d.x[i-1]) / w
	f := d.cdf[i-1]*(1+2*t)*(1-t)*(1-t) + d.cdf[i]*t*t*(3-2*t) + w*(d.pdf[i-1]*t*(1-t)*(1-t)-d.pdf[i]*t*t*(1-t))
	return min(max(f, 0), 1)
}

// slope is the density at c: the derivative of the curve that below reads.
func (d density) slope(c float64) float64 {
	i := sort.SearchFloat64s(d.x, c)
	switch {
	case i == len(d.x) || i == 0 && c != d.x[0]:
		return 0
	case d.x[i] == c:
		return d.pdf[i]
	}
	w := d.x[i] - d.x[i-1]
	t := (c - d.x[i-1]) / w
	f := (d.cdf[i]-d.cdf[i-1])*6*t*(1-t)/w + d.pdf[i-1]*(1-t)*(1-3*t) + d.pdf[i]*t*(3*t-2)
	return max(f, 0)
}

// quantile inverts below.
func (d density) quantile(p float64) float64 {
	i := sort.SearchFloat64s(d.cdf, p)
	switch {
	case i == 0:
		return d.x[0]
	case i == len(d.x):
		return d.x[len(d.x)-1]
	}
	low, high := d.x[i-1], d.x[i]
	for range 40 {
		mid := (low + high) / 2
		if d.below(mid) < p {
			low = mid
		} else {
			high = mid
		}
	}
	return (low + high) / 2
}

// weights returns the probability of each grid cell.
func (d density) weights() []float64 {
	out := make([]float64, len(d.x))
	last := 0.0
	for i := range out {
		next := 1.0
		if i < len(out)-1 {
			next = (d.cdf[i] + d.cdf[i+1]) / 2
		}
		out[i], last = next-last, next
	}
	return out
}

// mean is the expected value.
func (d density) mean() float64 {
	sum := 0.0
	for i, w := range d.weights() {
		sum += w * d.x[i]
	}
	return sum
}
