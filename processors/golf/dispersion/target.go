package dispersion

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/integrate/quad"
)

// Target is a piece of ground to finish on, its centre given from the aim in
// metres (Along: beyond the aim positive; Across: right positive). Length and
// Width are its full size along and across the target line. It is a rectangle,
// as a fairway is, or an Ellipse, as a green nearly is.
type Target struct {
	Name          string
	Along, Across float64
	Length, Width float64
	Elliptical    bool
}

// TargetOdds says how often a shot comes down on a target. Odds is the share of
// a normal scatter with the shots' own mean and covariance, with an interval
// for the long-run share from their posterior (see posterior); Seen counts the
// shots themselves.
type TargetOdds struct {
	Target Target
	Odds   Stat
	Seen   Stat
	Hits   int
}

func (t Target) check() error {
	for _, v := range []float64{t.Along, t.Across, t.Length, t.Width} {
		if !finite(v) {
			return fmt.Errorf("target %q: %w", t.Name, ErrNotFinite)
		}
	}
	if t.Length <= 0 || t.Width <= 0 {
		return fmt.Errorf("target %q: length %g and width %g must be more than 0 m", t.Name, t.Length, t.Width)
	}
	return nil
}

// holds says whether a point (from the aim) lies on the target.
func (t Target) holds(along, across float64) bool {
	u, v := 2*(along-t.Along)/t.Length, 2*(across-t.Across)/t.Width
	if t.Elliptical {
		return u*u+v*v <= 1
	}
	return math.Abs(u) <= 1 && math.Abs(v) <= 1
}

const targetNodes = 40

var unitNodes, unitWeights = legendre(targetNodes)

// legendre is Gauss–Legendre on (−1, 1), symmetric, so that a mirrored trial
// integrates to the mirrored value.
func legendre(nodes int) (x, w []float64) {
	x, w = make([]float64, nodes), make([]float64, nodes)
	quad.Legendre{}.FixedLocations(x, w, -1, 1)
	return x, w
}

// share is the probability that a normal shot with mean (from the aim) and
// covariance lands on the target: across is integrated exactly given along,
// along by Gauss–Legendre within eight standard deviations.
func (t Target) share(mean [2]float64, cov [3]float64) float64 {
	sx := math.Sqrt(cov[0])
	slope := cov[1] / cov[0]
	sy := math.Sqrt(max(cov[2]-slope*cov[1], 1e-300))
	low := max(t.Along-t.Length/2, mean[0]-8*sx)
	high := min(t.Along+t.Length/2, mean[0]+8*sx)
	if low >= high {
		return 0
	}
	centre, half := (low+high)/2, (high-low)/2
	sum := 0.0
	for i, u := range unitNodes {
		x := centre + half*u
		w := t.Width / 2
		if t.Elliptical {
			v := 2 * (x - t.Along) / t.Length
			w *= math.Sqrt(max(1-v*v, 0))
		}
		z := (x - mean[0]) / sx
		y := mean[1] + slope*(x-mean[0]) - t.Across
		sum += unitWeights[i] * math.Exp(-z*z/2) * (phi((w-y)/sy) - phi((-w-y)/sy))
	}
	return min(max(sum*half/(sx*math.Sqrt(2*math.Pi)), 0), 1)
}

func targetOdds(s Scatter, points [][2]float64, t Target, aim Aim, draws []draw, level float64) (TargetOdds, error) {
	if err := t.check(); err != nil {
		return TargetOdds{}, err
	}
	out := TargetOdds{Target: t}
	for _, p := range points {
		if t.holds(p[0]-aim.Carry, p[1]-aim.Offline) {
			out.Hits++
		}
	}
	out.Seen = shareStat(out.Hits, s.N, level)
	if s.N < MinSpread {
		out.Odds = notYet(s.N, MinSpread)
		return out, nil
	}
	if len(draws) == 0 {
		out.Odds = without(s.N, "the shots lie on one line or one spot")
		return out, nil
	}
	values := make([]float64, len(draws))
	from := func(mean [2]float64) [2]float64 { return [2]float64{mean[0] - aim.Carry, mean[1] - aim.Offline} }
	for i, d := range draws {
		values[i] = t.share(from(d.mean), d.cov)
	}
	low, high := middle(values, level)
	value := t.share(from(s.Mean), s.Cov())
	out.Odds = stat(s.N, value, min(low, value), max(high, value))
	return out, nil
}
