package evidence

import (
	"fairlead/ingest/contract/glossary"
	"math"
)

// Verdict is one of five.
type Verdict string

// The verdicts. Practically the same is a finding, not a lack of one: choose
// on feel, price or room to grow.
const (
	Better     Verdict = "better"
	Worse      Verdict = "worse"
	Same       Verdict = "practically the same"
	CannotTell Verdict = "cannot tell yet"
	// Moved is said only of what lies to one side of the aim: it surely changed by
	// more than the margin, but neither club is surely nearer to the aim, as where
	// one misses left and the other right. That too is something to fit by.
	Moved Verdict = "moved"
)

// SideWords says what became of an outcome that lies to one side of the aim:
// which way it went (change positive: right), and whether that is nearer.
func SideWords(v Verdict, change float64) string {
	side := "right"
	if change < 0 {
		side = "left"
	}
	switch v {
	case Better:
		return "moved " + side + ", nearer to the aim"
	case Worse:
		return "moved " + side + ", away from the aim"
	case Moved:
		return "moved " + side + ", about as far from the aim"
	}
	return string(v)
}

// nearerThan is how many times rarer than a false change it must be that the
// nearer of two places is taken for the farther.
const nearerThan = 5

// odds are the probabilities behind a verdict.
type odds struct {
	better, same float64
	moved        float64 // by more than the margin to one side; 0 where there are no sides
}

// add takes in the odds of one part of a belief, weighed.
func (o *odds) add(part odds, weight float64) {
	o.better += weight * part.better
	o.same += weight * part.same
	o.moved += weight * part.moved
}

func (o *odds) divide(by float64) { o.better, o.same, o.moved = o.better/by, o.same/by, o.moved/by }

// judge gives the verdict at an error rate alpha. Same needs the odds alone.
// Better and worse need the e-value, which keeps the promise at any time of
// looking, and the odds, so that a verdict never contradicts them.
func judge(o odds, eValue, alpha float64) Verdict {
	sure := 1 - alpha
	if o.moved > 0 {
		// The e-value guards against a change that is not there. Which of two
		// places is nearer to the aim it does not ask, so the odds must say more.
		sure = 1 - alpha/nearerThan
	}
	switch {
	case o.same >= 1-alpha:
		return Same
	case eValue >= 1/alpha && o.better >= sure:
		return Better
	case eValue >= 1/alpha && o.better <= 1-sure:
		return Worse
	case eValue >= 1/alpha && o.moved >= 1-alpha:
		return Moved
	}
	return CannotTell
}

// oddsOf computes the odds of an effect with a posterior under a goal.
func oddsOf(d density, e estimate, g glossary.Goal, margin float64, sided bool) odds {
	within := d.below(margin) - d.below(-margin)
	switch g.Way {
	case glossary.Higher:
		return odds{better: 1 - d.below(0), same: within}
	case glossary.Lower:
		return odds{better: d.below(0), same: within}
	}
	o := towardOdds(d, e, g.Target, margin)
	if sided {
		// As far off on the other side is not the same.
		o.same, o.moved = within, max(d.below(-margin), 1-d.below(margin))
	}
	return o
}

// normalNodes is how many points stand for a normal, evenly from −3.5 to 3.5 sd
// and weighted by its density.
const normalNodes = 21

// towardOdds asks whether the candidate's mean lies nearer to a target. The
// level M of all shots is known apart from the change δ, with sd σ/√weight; the two
// means are M−rδ and M+(1−r)δ for a candidate's share r of the shots. Nearer
// means δ·[2(M−T)+δ(1−2r)] < 0, an interval of δ for each M.
func towardOdds(d density, e estimate, target, margin float64) odds {
	sd := e.sd / math.Sqrt(e.weight)
	weights := d.weights()
	r := e.share
	var out odds
	total := 0.0
	for i := range normalNodes {
		z := -3.5 + 7*float64(i)/(normalNodes-1)
		w := math.Exp(-z * z / 2)
		m := e.level + z*sd - target
		total += w
		out.better += w * nearer(d, m, 1-2*r)
		near := 0.0
		for j, x := range d.x {
			if math.Abs(math.Abs(m+(1-r)*x)-math.Abs(m-r*x)) <= margin {
				near += weights[j]
			}
		}
		out.same += w * near
	}
	return odds{better: out.better / total, same: out.same / total}
}

// nearer is the probability of δ·(2m+δ·tilt) < 0.
func nearer(d density, m, tilt float64) float64 {
	zero := d.below(0)
	if math.Abs(tilt) < 1e-9 {
		switch {
		case m > 0:
			return zero
		case m < 0:
			return 1 - zero
		}
		return 0
	}
	other := -2 * m / tilt
	between := math.Abs(d.below(other) - zero)
	if tilt > 0 {
		return between
	}
	return 1 - between
}
