package evidence

import "math"

// mixture is the variance of the effects that the e-value looks for, in
// squared shot-to-shot standard deviations: effects of about one of them.
const mixture = 1.0

// maxLogE keeps e-values printable; nobody needs more than e¹⁰⁰.
const maxLogE = 100

// eValue is the evidence against no effect at all. Its expectation without an
// effect is 1, at any time of looking, so reaching 1/α has a chance of at most
// α (Ville 1939). The mixture is centred on no effect: no prior is in it.
//
// A mean: the ratio of marginal likelihoods with a flat level and drift-prior,
// a scale-free σ, and effects N(0, σ²·mixture), which is exactly such a process
// for normal shots of unknown σ (Robbins 1970; Lindon, Ham, Tingley & Bojinov
// 2022, arXiv 2210.08589). With t on ν degrees and information k:
// (1+kg)^(−½)·[(1+t²/ν)/(1+t²/((1+kg)ν))]^((ν+1)/2).
//
// A tightness: the likelihood of the log ratio, which is F, averaged over
// effects N(0, tau²) and divided by that of none; exactly such a process for
// one axis, nearly for an area (simulation says how nearly). For many shots it
// becomes normalEValue.
func (e estimate) eValue(tau float64) float64 {
	if e.tight {
		prior := Prior{SD: tau}
		mass := e.posterior(prior).logMass - math.Log(tau*math.Sqrt(2*math.Pi))
		return math.Exp(min(mass-e.logLikelihood(0), maxLogE))
	}
	return tEValue(e.change/e.se, e.df, e.info)
}

func tEValue(t, df, info float64) float64 {
	k := 1 + info*mixture
	log := -0.5*math.Log(k) + (df+1)/2*(math.Log1p(t*t/df)-math.Log1p(t*t/(k*df)))
	return math.Exp(min(log, maxLogE))
}

// normalEValue is √(v/(v+τ²))·exp{y²τ²/[2v(v+τ²)]} for an estimate y with known
// variance v (Robbins 1970, Ann. Math. Stat. 41:1397; Howard et al. 2021, Ann.
// Stat. 49:1055).
func normalEValue(y, v, tau float64) float64 {
	t2 := tau * tau
	log := 0.5*math.Log(v/(v+t2)) + y*y*t2/(2*v*(v+t2))
	return math.Exp(min(log, maxLogE))
}
