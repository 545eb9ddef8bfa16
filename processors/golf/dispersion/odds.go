package dispersion

import (
	"fairlead/ingest/contract/glossary"
	"fmt"
	"math"

	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat/distuv"
)

// Side is the side of the aim on which a shot misses.
type Side string

// The sides. Left and right are across the target line, short and long along it.
const (
	Left  Side = "left"
	Right Side = "right"
	Short Side = "short"
	Long  Side = "long"
)

// Miss is a miss that is named because it hurts: on one side of the aim, by
// more than Beyond metres.
type Miss struct {
	Side   Side
	Beyond float64
}

// String names the miss as in "left beyond 15 m".
func (m Miss) String() string { return fmt.Sprintf("%s beyond %g m", m.Side, m.Beyond) }

// UsualMisses returns the misses whose odds are reported when none is named:
// left and right, by as much as usually costs a stroke with such a club.
func UsualMisses(c glossary.Category) []Miss {
	beyond := 15.0
	switch c {
	case glossary.Hybrid, glossary.Iron:
		beyond = 10
	case glossary.Wedge:
		beyond = 5
	case glossary.Putter:
		return nil
	}
	return []Miss{{Left, beyond}, {Right, beyond}}
}

// MissOdds says how often a miss happens. Odds is the unbiased estimate of the
// share of a normal scatter beyond the line: the Beta((n−2)/2, (n−2)/2)
// distribution at ½ − k√n/[2(n−1)], k being the distance from mean to line in
// standard deviations (Lieberman & Resnikoff 1955, J. Am. Stat. Assoc. 50:457);
// over many trials, what is said is what happens. Its interval is exact. Seen
// counts the misses among the shots themselves, with the interval of Clopper &
// Pearson 1934, which assumes no shape.
type MissOdds struct {
	Miss Miss
	Odds Stat
	Seen Stat
	Hits int // misses counted
}

// missOdds computes the odds of a miss about an aim that is complete (its
// carry is set).
func missOdds(s Scatter, points [][2]float64, m Miss, aim Aim, level float64) (MissOdds, error) {
	if !finite(m.Beyond) {
		return MissOdds{}, fmt.Errorf("miss %s: %w", m.Side, ErrNotFinite)
	}
	axis, sign, centre := 1, 1.0, aim.Offline
	switch m.Side {
	case Left:
		sign = -1
	case Right:
	case Short:
		axis, sign, centre = 0, -1, aim.Carry
	case Long:
		axis, centre = 0, aim.Carry
	default:
		return MissOdds{}, fmt.Errorf("miss side %q is not known; use left, right, short or long", m.Side)
	}
	out := MissOdds{Miss: m}
	for _, p := range points {
		if sign*(p[axis]-centre) > m.Beyond {
			out.Hits++
		}
	}
	out.Seen = shareStat(out.Hits, s.N, level)
	switch {
	case s.N < MinSpread:
		out.Odds = notYet(s.N, MinSpread)
	case s.Flat(axis):
		out.Odds = without(s.N, "all shots are equal on this axis")
	default:
		n := float64(s.N)
		sd := math.Sqrt(s.A[2*axis] / (n - 1))
		gap := (m.Beyond - sign*(s.Mean[axis]-centre)) / sd // in standard deviations
		at := min(max(0.5-gap*math.Sqrt(n)/(2*(n-1)), 0), 1)
		value := mathext.RegIncBeta((n-2)/2, (n-2)/2, at)
		low, high := tailInterval(gap, n, level)
		out.Odds = stat(s.N, min(max(value, low), high), low, high)
	}
	return out, nil
}

// tailInterval returns the exact interval of the normal tail share Φ(−k) from
// an estimate of k: √n·k̂ follows a noncentral t with n−1 degrees and
// noncentrality √n·k (Owen 1968, Technometrics 10:445).
func tailInterval(k, n, level float64) (low, high float64) {
	cdf := noncentralT(n - 1)
	solve := func(p float64) float64 {
		width := 10 + math.Abs(k)*2
		a, b := k-width, k+width
		for range 60 {
			mid := (a + b) / 2
			if cdf(math.Sqrt(n)*k, math.Sqrt(n)*mid) > p {
				a = mid
			} else {
				b = mid
			}
		}
		return (a + b) / 2
	}
	return phi(-solve((1 - level) / 2)), phi(-solve((1 + level) / 2))
}

// noncentralT returns P(T ≤ t) as a function of t and the noncentrality, for
// nu degrees: ∫Φ(t·w−δ)·f(w)dw over w = √(χ²/nu), by Gauss–Legendre.
func noncentralT(nu float64) func(t, delta float64) float64 {
	const nodes = 64
	chi := distuv.ChiSquared{K: nu}
	a, b := math.Sqrt(chi.Quantile(1e-10)/nu), math.Sqrt(chi.Quantile(1-1e-10)/nu)
	var w, f [nodes]float64
	quad.Legendre{}.FixedLocations(w[:], f[:], a, b)
	for i := range w {
		f[i] *= chi.Prob(w[i]*w[i]*nu) * 2 * w[i] * nu
	}
	return func(t, delta float64) float64 {
		sum := 0.0
		for i := range w {
			sum += f[i] * phi(t*w[i]-delta)
		}
		return sum
	}
}

// phi is the standard normal distribution function.
func phi(x float64) float64 { return 0.5 * math.Erfc(-x/math.Sqrt2) }

// shareStat is hits out of n with the interval of Clopper and Pearson.
func shareStat(hits, n int, level float64) Stat {
	if n == 0 {
		return notYet(0, 1)
	}
	k, m := float64(hits), float64(n)
	low, high := 0.0, 1.0
	if hits > 0 {
		low = distuv.Beta{Alpha: k, Beta: m - k + 1}.Quantile((1 - level) / 2)
	}
	if hits < n {
		high = distuv.Beta{Alpha: k + 1, Beta: m - k}.Quantile((1 + level) / 2)
	}
	return stat(n, k/m, low, high)
}
