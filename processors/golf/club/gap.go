package club

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// maxMore is where 'so many more shots' stops meaning anything to a player.
const maxMore = 200

// Gap is the distance between two neighbours in a bag. Where Known is false
// (too few shots) the figures are zero and mean nothing.
type Gap struct {
	Longer, Shorter string
	Known           bool
	Mean, Low, High float64 // m, the difference of mean carries with its interval
	Min, Max        float64 // m, what it was judged by
	// The three add up to 1: the true gap is below Min, above Max, or between.
	ProbOverlap, ProbHole, ProbFine float64
	// Passed is the chance that one shot with the shorter club outcarries one
	// with the longer: even a gap in order is no use when scatter swallows it.
	Passed  float64
	Verdict Verdict
	// More is how many more shots with each club would settle the verdict, if
	// the figures stay as they are; at most 200, which means do not wait for it.
	More int
	// Advice says what might be tried, or is empty.
	Advice string
}

// newGap compares two positions. The difference of means follows Welch's t;
// with flat priors that is also the posterior that the probabilities are from.
// Because neighbours are sorted by what was measured, a small gap is shown a
// little larger than it is; the probabilities use both signs to make up for it.
func newGap(a, b Position, low, high float64, o GapOptions) Gap {
	g := Gap{Longer: a.Name(), Shorter: b.Name(), Min: low, Max: high, Verdict: NotYet}
	if !a.Carry.Ready() || !b.Carry.Ready() {
		g.More = max(a.Carry.More(), b.Carry.More())
		return g
	}
	ea, eb := of(a.Carry, o.Resolution), of(b.Carry, o.Resolution)
	d := ea.less(eb)
	g.Known, g.Mean = true, d.mean
	g.Low, g.High = d.interval(o.Level)
	if low > 0 {
		g.ProbOverlap = d.below(low) - d.below(-low)
	}
	g.ProbHole = 1 - (d.below(high) - d.below(-high))
	g.ProbOverlap, g.ProbHole = clip(g.ProbOverlap), clip(g.ProbHole)
	g.ProbFine = clip(1 - g.ProbOverlap - g.ProbHole)
	g.Passed = passed(a.Carry, b.Carry, d, o.Resolution)
	switch {
	case g.ProbHole >= o.Decide:
		g.Verdict = Hole
	case g.ProbOverlap >= o.Decide:
		g.Verdict = Overlap
	case g.ProbFine >= o.Decide:
		g.Verdict = Fine
	default:
		g.Verdict = CannotTell
		g.More = g.shotsToDecide(a.Carry, b.Carry, o)
	}
	return g
}

// passed is the predictive probability for one shot of each: t with the shots'
// own scatter beside the error of the means.
func passed(a, b Sample, d estimate, resolution float64) float64 {
	floor := resolution * resolution / 12
	shot := math.Max(a.SD*a.SD, floor) + math.Max(b.SD*b.SD, floor)
	return clip(estimate{d.mean, math.Sqrt(shot + d.se*d.se), d.df}.below(0))
}

// shotsToDecide is the count at which the nearer threshold lies far enough
// away in standard errors, by the normal approximation.
func (g Gap) shotsToDecide(a, b Sample, o GapOptions) int {
	room := math.Abs(g.Max - g.Mean)
	if g.Min > 0 {
		room = math.Min(room, math.Abs(g.Mean-g.Min))
	}
	z := distuv.UnitNormal.Quantile(o.Decide)
	need := maxMore + 1.0
	if room > 1e-6 {
		need = math.Ceil(z * z * (a.SD*a.SD + b.SD*b.SD) / (room * room))
	}
	more := need - float64(min(a.N, b.N))
	return int(math.Max(1, math.Min(maxMore, more)))
}

// advise says what a change of loft would do where the bag's own irons tell
// how much a degree is worth. Within two degrees, which is what most heads
// that bend at all will take; the maker's limit comes first.
func (g *Gap) advise(a, b Position, lossPerDegree float64) {
	bendable := isIronFamily(a.Category) && isIronFamily(b.Category)
	switch {
	case g.Verdict == Hole && bendable && lossPerDegree > 0:
		deg := (g.Mean - (g.Min+g.Max)/2) / lossPerDegree
		if deg <= 2 {
			g.Advice = fmt.Sprintf("weakening %s or strengthening %s by %.1f° closes it, by what a degree costs in this bag; look at the gaps "+
				"beside it", g.Longer, g.Shorter, deg)
			return
		}
		g.Advice = "too wide to bend away: a club between them, or another pair of lofts"
	case g.Verdict == Hole:
		g.Advice = "a club between them, or another length or loft for one of them"
	case g.Verdict == Overlap && bendable && lossPerDegree > 0:
		deg := ((g.Min+g.Max)/2 - g.Mean) / lossPerDegree
		if deg <= 2 {
			g.Advice = fmt.Sprintf("%.1f° more loft between them parts them, by what a degree costs in this bag; or carry one of the two", deg)
			return
		}
		g.Advice = "too close to bend apart: carry one of the two"
	case g.Verdict == Overlap:
		g.Advice = "carry one of the two, unless they are for different lies or flights"
	}
}

// clip keeps a difference of two distribution values a probability.
func clip(p float64) float64 { return math.Max(0, math.Min(1, p)) }
