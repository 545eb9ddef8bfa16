package evidence

import (
	"fairlead/ingest/contract/glossary"
	"math"
	"math/rand/v2"
	"slices"
)

// Needed is how many shots are still needed for a verdict, both clubs
// together, hit in balance, as a distribution: half of the plausible futures
// are decided by P50, nine in ten by P90. Either is −1 where that takes more
// than MostShots. Soon is the share of futures decided by the next block.
type Needed struct {
	P50, P90 int
	Soon     float64
}

// MostShots is the longest future that is looked at, both clubs together.
const MostShots = 1000

// futures is how many are simulated; half are mirror images of the others.
const futures = 200

// looks are the numbers of further shots with each club at which a future is looked at.
var looks = []int{1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 18, 22, 27, 33, 40, 50, 62, 78, 100, 130, 170, 220, 290, 380, 500}

// needed simulates futures: a true effect from the posterior, then the
// estimate as it moves with further shots, judged as the real one is. The
// walk is normal with the information that balanced shots bring; the e-value
// is the real one for a mean, and its many-shot form for a tightness. The
// seed is fixed, so equal shots give equal answers.
func (q question) needed(e estimate, d density) Needed {
	random := rand.New(rand.NewPCG(0x66616972, 0x6c656164))
	info := 1 / (e.se * e.se)
	// What one shot with each club adds to the information, hit in blocks.
	per := 0.5 / (e.sd * e.sd * (1 + float64(q.block)*q.wander*q.wander))
	if e.tight {
		// Two log sds differ with variance 1/k after k shots each, two log areas with 2/k;
		// of each block one goes to its own middle.
		per = (1 - 1/float64(max(q.block, 2))) / (2 * e.kappa)
	}
	at := make([]int, 0, futures)
	soon := 0
	for range futures / 2 {
		u, noise := random.Float64(), make([]float64, len(looks))
		for i := range noise {
			noise[i] = random.NormFloat64()
		}
		for _, mirror := range []float64{1, -1} {
			if mirror < 0 {
				u = 1 - u
			}
			n := q.decidedAt(e, d.quantile(u), noise, mirror, info, per)
			at = append(at, n)
			if n <= q.block {
				soon++
			}
		}
	}
	slices.Sort(at)
	total := func(n int) int {
		if n > looks[len(looks)-1] {
			return -1
		}
		return 2 * n
	}
	return Needed{P50: total(at[futures/2-1]), P90: total(at[futures*9/10-1]), Soon: float64(soon) / futures}
}

// decidedAt walks one future and returns the shots per club at its verdict, or
// more than the last look.
func (q question) decidedAt(e estimate, effect float64, noise []float64, mirror, info, per float64) int {
	sum, have := e.change*info, info
	last := 0
	for i, k := range looks {
		more := float64(k-last) * per
		last = k
		sum += effect*more + mirror*noise[i]*math.Sqrt(more)
		have += more
		change := sum / have
		o := q.walkedOdds(change, sum, have, e)
		var ev float64
		if e.tight {
			ev = normalEValue(change, 1/have, q.tau)
		} else {
			ev = tEValue(change*math.Sqrt(have), e.df+2*float64(k), have*e.sd*e.sd)
		}
		if judge(o, ev, q.alpha) != CannotTell {
			return k
		}
	}
	return looks[len(looks)-1] + 1
}

// walkedOdds are the odds of a walk that stands at change with the information have,
// sum being their product: those of each part of the prior, weighed as it explains it.
func (q question) walkedOdds(change, sum, have float64, e estimate) odds {
	parts := q.prior.parts()
	var out odds
	total := 0.0
	for i, part := range parts {
		info := 1 / (part.SD * part.SD)
		one := q.normalOdds((sum+part.Mean*info)/(have+info), 1/math.Sqrt(have+info), e)
		if len(parts) == 1 {
			return one
		}
		z := (change - part.Mean) / math.Sqrt(1/have+1/info)
		w := max(q.prior.share(i)*math.Sqrt(info/(have+info))*math.Exp(-z*z/2), 1e-300)
		out.add(one, w)
		total += w
	}
	out.divide(total)
	return out
}

// normalOdds are the odds under a normal posterior. Toward a target, the
// nearer side is taken as the better one, up to the target itself.
func (q question) normalOdds(mean, sd float64, e estimate) odds {
	below := func(c float64) float64 { return 0.5 * math.Erfc((mean-c)/sd/math.Sqrt2) }
	o := odds{better: below(0), same: below(q.margin) - below(-q.margin)}
	if q.name.Sided() && q.goal.Way == glossary.Toward {
		o.moved = max(below(-q.margin), 1-below(q.margin))
	}
	switch {
	case q.goal.Way == glossary.Higher:
		o.better = 1 - o.better
	case q.goal.Way == glossary.Toward:
		// Overshooting by as much as it was short makes no difference.
		gap := 2 * (q.goal.Target - (e.level - e.share*mean))
		o.better = math.Abs(below(gap) - below(0))
	}
	return o
}
