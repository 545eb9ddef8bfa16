package evidence

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// FleetDoubt is the share of belief kept back from a prior that a fleet's model
// gives: in one case of five the model is taken not to hold for this player, and
// what is believed then is the weak default. A fleet's answer that is right loses
// little by it; one that is wrong is dropped by the shots themselves, since the
// weak part explains them better (robust meta-analytic-predictive priors:
// Schmidli, Gsteiger, Roychoudhury, O'Hagan, Spiegelhalter & Neuenschwander,
// Biometrics 70:1023, 2014).
const FleetDoubt = 0.2

// Disagreement is the predictive probability below which shots and prior are
// said to disagree: one session in fifty would if the prior were right.
const Disagreement = 0.02

// believed is the posterior under a prior of which the share p.Doubt is spread
// as the weak one. held is the share of belief that the prior itself keeps after
// the shots (1 where nothing was kept back), alone the posterior without it.
func (e estimate) believed(p, weak Prior) (d density, held float64, alone density) {
	d = e.posterior(p)
	if !(p.Doubt > 0) {
		return d, 1, d
	}
	alone = e.posterior(weak)
	// What either prior says of the estimate, its normalisation included.
	given := math.Log(1-p.Doubt) + d.logMass - math.Log(p.SD)
	other := math.Log(p.Doubt) + alone.logMass - math.Log(weak.SD)
	held = 1 / (1 + math.Exp(min(other-given, 700)))
	return mix(d, alone, held), held, alone
}

// mix is the density w·a + (1−w)·b, on the points of both.
func mix(a, b density, w float64) density {
	x := append(slices.Clone(a.x), b.x...)
	slices.Sort(x)
	x = slices.Compact(x)
	d := density{x: x, cdf: make([]float64, len(x)), pdf: make([]float64, len(x))}
	for i, at := range x {
		d.cdf[i] = w*a.below(at) + (1-w)*b.below(at)
		d.pdf[i] = w*a.slope(at) + (1-w)*b.slope(at)
	}
	// Rounding of the two curves must not make it fall.
	for i := 1; i < len(x); i++ {
		d.cdf[i] = max(d.cdf[i], d.cdf[i-1])
	}
	return d
}

// surprise is the probability, under a prior, of an estimate as far from what
// it expects as this one, on either side: the prior predictive check of Box (J.
// R. Stat. Soc. A 143:383, 1980) with the estimate as the statistic, as Evans &
// Moshonov (Bayesian Analysis 1:893, 2006) propose for conflicts of prior and
// data. Small means that one of the two is wrong, or that something rare happened.
func (e estimate) surprise(p Prior) float64 {
	const nodes, reach = 81, 6.0
	above, total := 0.0, 0.0
	for i := range nodes {
		z := -reach + 2*reach*float64(i)/(nodes-1)
		w := math.Exp(-z * z / 2)
		total += w
		above += w * e.exceeds(p.Mean+p.SD*z)
	}
	above /= total
	return min(2*min(above, 1-above), 1)
}

// exceeds is the probability of an estimate above this one if the effect is x.
func (e estimate) exceeds(x float64) float64 {
	if !e.tight {
		return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: e.df}.Survival((e.change - x) / e.se)
	}
	return distuv.F{D1: e.d1, D2: e.d2}.Survival(math.Exp(min((e.change-x)/e.kappa, 700)))
}
