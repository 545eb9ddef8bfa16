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
// the share p of normal shots with the mean (from the aim) and covariance. It
// starts where Wilson & Hilferty's cube root (1931, PNAS 17:684) of the squared
// distance has p, and takes secant steps that stay in a bracket.
func distanceHolding(mean [2]float64, cov [3]float64, p float64) float64 {
	off2 := mean[0]*mean[0] + mean[1]*mean[1]
	l1, _, _ := eigen(cov)
	low, high := 0.0, math.Sqrt(off2)+6*math.Sqrt(l1)
	// Mean and variance of the squared distance, and the degrees of the χ² that has both.
	square := cov[0] + cov[2] + off2
	variance := 2*(cov[0]*cov[0]+2*cov[1]*cov[1]+cov[2]*cov[2]) +
		4*(mean[0]*mean[0]*cov[0]+2*mean[0]*mean[1]*cov[1]+mean[1]*mean[1]*cov[2])
	sd := math.Sqrt(variance/9) / square
	z := normalQuantile(p)
	cube := max(1-sd*sd+z*sd, 0.01)
	r := math.Sqrt(square * cube * cube * cube)
	slope := math.Exp(-z*z/2) / math.Sqrt(2*math.Pi) * 2 / 3 * cube / (r * sd)
	var last, lastMiss float64
	for range 60 {
		if !(r > low && r < high) {
			r = (low + high) / 2
		}
		miss := withinCircle(mean, cov, r) - p
		if math.Abs(miss) < 1e-6 || high-low < 1e-9*high {
			return r
		}
		if miss < 0 {
			low = r
		} else {
			high = r
		}
		if s := (miss - lastMiss) / (r - last); last > 0 && s > 0 {
			slope = s
		}
		last, lastMiss = r, miss
		r -= miss / slope
	}
	return r
}

const circleNodes = 16

var circleAt, circleWeight = legendre(circleNodes)

// withinCircle is the probability that a normal shot with the mean and
// covariance comes down within r of where both are counted from. The axis of the larger
// variance is integrated by Gauss–Legendre on the angle, on which the chord's
// length is smooth to its ends, the other one exactly.
func withinCircle(mean [2]float64, cov [3]float64, r float64) float64 {
	if cov[2] > cov[0] {
		mean[0], mean[1] = mean[1], mean[0]
		cov[0], cov[2] = cov[2], cov[0]
	}
	sx := math.Sqrt(cov[0])
	slope := cov[1] / cov[0]
	sy := math.Sqrt(max(cov[2]-slope*cov[1], 1e-300))
	from, to := math.Asin(max((mean[0]-7*sx)/r, -1)), math.Asin(min((mean[0]+7*sx)/r, 1))
	if !(from < to) {
		return 0
	}
	// Where the scatter is thin, the circle cuts it off within a small part of the angle.
	parts := 1 + min(int(sx/sy/2), 12)
	half := (to - from) / float64(2*parts)
	sum := 0.0
	for part := range parts {
		centre := from + half*float64(2*part+1)
		for i, u := range circleAt {
			sin, cos := math.Sincos(centre + half*u)
			z := (r*sin - mean[0]) / sx
			y := mean[1] + slope*(r*sin-mean[0])
			sum += circleWeight[i] * cos * math.Exp(-z*z/2) * (phi((r*cos-y)/sy) - phi((-r*cos-y)/sy))
		}
	}
	return min(max(sum*half*r/(sx*math.Sqrt(2*math.Pi)), 0), 1)
}
