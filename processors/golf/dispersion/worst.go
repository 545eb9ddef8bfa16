package dispersion

import (
	"math"
	"slices"
)

// WorstTenth says how bad the bad shots are. Distance (m) from the aim is the
// one that a tenth of all shots exceeds, for a normal scatter with the shots'
// own mean and covariance, its interval from their posterior; a centre off the
// aim counts. Seen is the mean distance of the
// worst tenth of the shots themselves (of ten shots, the worst one).
type WorstTenth struct {
	Distance Stat
	Seen     float64
	SeenN    int
}

func worstTenth(s Scatter, points [][2]float64, aim Aim, draws []draw, level float64) WorstTenth {
	var out WorstTenth
	if s.N < MinWorstTenth {
		out.Distance = notYet(s.N, MinWorstTenth)
		return out
	}
	far := make([]float64, len(points))
	for i, p := range points {
		far[i] = math.Hypot(p[0]-aim.Carry, p[1]-aim.Offline)
	}
	slices.Sort(far)
	out.SeenN = (len(far) + 9) / 10
	for _, d := range far[len(far)-out.SeenN:] {
		out.Seen += d / float64(out.SeenN)
	}
	if len(draws) == 0 {
		out.Distance = without(s.N, "the shots lie on one line or one spot")
		return out
	}
	values := make([]float64, len(draws))
	for i, d := range draws {
		values[i] = distanceHolding([2]float64{d.mean[0] - aim.Carry, d.mean[1] - aim.Offline}, d.cov, 0.9)
	}
	low, high := middle(values, level)
	value := distanceHolding([2]float64{s.Mean[0] - aim.Carry, s.Mean[1] - aim.Offline}, s.Cov(), 0.9)
	out.Distance = stat(s.N, value, min(low, value), max(high, value))
	return out
}

// distanceHolding returns the radius of the circle about the aim that holds
// the share p of normal shots with the mean (from the aim) and covariance.
// Regula falsi (Illinois) on the share.
func distanceHolding(mean [2]float64, cov [3]float64, p float64) float64 {
	off := math.Hypot(mean[0], mean[1])
	l1, _, _ := eigen(cov)
	a, b := 0.0, off+6*math.Sqrt(l1)
	miss := func(r float64) float64 {
		return Target{Length: 2 * r, Width: 2 * r, Elliptical: true}.share(mean, cov) - p
	}
	fa, fb := -p, miss(b)
	for range 40 {
		mid := (a*fb - b*fa) / (fb - fa)
		f := miss(mid)
		if math.Abs(f) < 1e-7 || b-a < 1e-9*b {
			return mid
		}
		if f*fb < 0 {
			a, fa = b, fb
		} else {
			fa /= 2
		}
		b, fb = mid, f
	}
	return b
}
