package evidence

import (
	"fmt"
	"math"
	"slices"

	"fairlead/ingest/contract/glossary"
	"fairlead/processors/golf/dispersion"
	"fairlead/processors/golf/strokes"
)

// minPerSide is the number of shots each club needs before anything is said.
const minPerSide = 3

// Wander is how far a player's level moves by itself from one run of shots to
// the next, in shot-to-shot standard deviations, where the fleet has not learnt
// it: our declared default. One run with each club can't tell the club from it,
// however many shots: runs in turn can. Five identical clubs of a player who
// wanders by 0.3 get a false verdict in one visit of a hundred; were it taken for
// none, in eight.
const Wander = 0.25

// MostWander is the most that is taken for a wander.
const MostWander = 3.0

// Options change how two clubs are compared; the zero value is the default.
type Options struct {
	Priors map[glossary.Name]Prior         // from the player's profile in the fleet; others are weak. The e-value takes none
	Goals  map[glossary.Name]glossary.Goal // others are DefaultGoal
	Wander map[glossary.Name]float64       // of means, as Wander is, which holds for others; below 0: none
	Alpha  float64                         // chance of a false better or worse; 0: 0.05
	WarmUp int                             // first shots of the session left out; 0: 5, −1: none
	Settle int                             // first shots after a swap left out; 0: 2, −1: none
	Block  int                             // shots with each club in the next block; 0: 5
	Hole   *strokes.Hole                   // that shots are valued on; nil: strokes.Usual
}

func (o Options) filled() (Options, error) {
	if o.Alpha == 0 {
		o.Alpha = 0.05
	}
	if !(o.Alpha > 0 && o.Alpha < 0.5) {
		return o, fmt.Errorf("error rate %g must lie between 0 and 0.5, as 0.05 does", o.Alpha)
	}
	for _, d := range []struct {
		value    *int
		standard int
	}{{&o.WarmUp, 5}, {&o.Settle, 2}, {&o.Block, 5}} {
		switch {
		case *d.value == 0:
			*d.value = d.standard
		case *d.value < 0:
			*d.value = 0
		}
	}
	for _, n := range glossary.Outcomes() {
		if p, ok := o.Priors[n]; ok {
			if err := p.check(n); err != nil {
				return o, err
			}
		}
		if w, ok := o.Wander[n]; ok && !(w <= MostWander) {
			return o, fmt.Errorf("wander of %s: %g is no share of the shot-to-shot spread from 0 to %g", n, w, MostWander)
		}
		if g, ok := o.Goals[n]; ok {
			if n.Tightness() && g.Way == glossary.Toward {
				return o, fmt.Errorf("goal of %s: a spread has no target; lower is better", n)
			}
			if math.IsNaN(g.Target) || math.IsInf(g.Target, 0) {
				return o, fmt.Errorf("goal of %s: target %g %s is not a number", n, g.Target, n.Unit())
			}
		}
	}
	return o, nil
}

// Statement is what is said of one outcome. Change is the candidate less the
// baseline in Unit, with its 95 % interval, both after the prior; Estimate is
// what the shots alone say. For a tightness all three are on the log scale, and
// Baseline and Candidate are the standard deviations (deg, percent) or √|Σ|
// (percent × deg) themselves. Of a mean they are levels of the model, freed of
// drift and of what a run of shots has to itself; Plain are the averages of the
// shots that are weighed, as anybody would take them.
type Statement struct {
	Name                 glossary.Name
	Unit                 string
	Goal                 glossary.Goal
	Margin               float64
	Prior                Prior
	NBaseline            int
	NCandidate           int
	Baseline, Candidate  float64
	Plain                [2]float64
	Estimate             float64
	Change, Low, High    float64
	ProbBetter, ProbSame float64
	EValue               float64
	Verdict              Verdict
	Needed               Needed
	NotYet               bool // nothing can be said; More shots (with one club or each) are needed
	More                 int
	Why                  string
	Against              Against
	se                   float64   // of the estimate of a mean
	spreads              [2]spread // of a tightness, baseline's and candidate's
}

// Against is how a prior that leaves room for doubt (Prior.Doubt) stands against
// the shots; the zero value where the prior leaves none, as the weak one does.
type Against struct {
	// Asked says that there is anything to say: a prior with doubt, and shots.
	Asked bool
	// Held is the share of belief that the prior keeps; 1−Doubt before the shots.
	Held float64
	// Surprise is the probability of such shots if the prior were right, and
	// Disagrees says that it is below Disagreement.
	Surprise  float64
	Disagrees bool
	// What would be said without the prior, under the weak default.
	Change, Low, High, ProbBetter float64
	Verdict                       Verdict
}

// Report is a comparison of a candidate with a baseline: what was decided
// first, the rest in the order in which it usually can be.
type Report struct {
	Category glossary.Category
	Alpha    float64
	Outcomes []Statement
	Order    Order
	Spread   *dispersion.Comparison // in metres: F, p, difference of log spread; nil when not yet
	Trade    *Trade
	// Strokes is what the candidate is worth on a hole; no verdict takes note of it. nil: not known yet.
	Strokes *strokes.Worth
	// Doubts say what makes the statements less sure than they look.
	Doubts []string
}

// Outcome returns the statement on one outcome, and false where the category
// is not judged on it.
func (r Report) Outcome(n glossary.Name) (Statement, bool) {
	i := slices.IndexFunc(r.Outcomes, func(o Statement) bool { return o.Name == n })
	if i < 0 {
		return Statement{}, false
	}
	return r.Outcomes[i], true
}

// Compare weighs a candidate against a baseline. Each side is the trials hit
// with that club in one session, in any order; call it again whenever there
// are more shots. Too few shots, or none, are no error: the outcome is 'cannot
// tell yet' and says how many more. A value that is no measurement is a
// *ShotError.
func Compare(category glossary.Category, baseline, candidate []Trial, options Options) (Report, error) {
	if _, err := glossary.ParseCategory(string(category)); err != nil {
		return Report{}, err
	}
	options, err := options.filled()
	if err != nil {
		return Report{}, err
	}
	shots, order, err := arrange(baseline, candidate, options.WarmUp, options.Settle)
	if err != nil {
		return Report{}, err
	}
	out := Report{Category: category, Alpha: options.Alpha, Order: order}
	kept := withoutMishits(category, shots)
	out.Outcomes = outcomes(category, shots, kept, order, options)
	metres := [2]dispersion.Scatter{}
	for side := range metres {
		metres[side] = pool(shots, side == 1, carryOffline).scatter()
	}
	if metres[0].N >= minPerSide && metres[1].N >= minPerSide {
		if c, err := dispersion.Compare(metres[0], metres[1]); err == nil {
			out.Spread = &c
		}
	}
	out.Trade, out.Strokes = trade(category, out), valued(category, out, options.Hole)
	out.orderDoubts(len(shots))
	out.hedge(shots, kept, options)
	slices.SortStableFunc(out.Outcomes, func(a, b Statement) int { return rank(a) - rank(b) })
	return out, nil
}

// rank puts what is decided before what is not, and what says nothing last.
func rank(o Statement) int {
	switch {
	case o.NotYet:
		return 2
	case o.Verdict == CannotTell:
		return 1
	}
	return 0
}

// outcomes are asked of all shots, and of a spread of those that are kept.
func outcomes(category glossary.Category, shots, kept []placed, order Order, options Options) []Statement {
	var out []Statement
	for _, n := range glossary.Outcomes() {
		s, ok := n.Row().In[category]
		if !ok {
			continue
		}
		q := question{name: n, weak: WeakPrior(category, n), margin: s.Margin, tau: s.Prior, alpha: options.Alpha, block: options.Block}
		if q.prior, ok = options.Priors[n]; !ok {
			q.prior = q.weak
		}
		if q.goal, ok = options.Goals[n]; !ok {
			q.goal = DefaultGoal(category, n)
		}
		if q.wander, ok = options.Wander[n]; !ok {
			q.wander = Wander
		}
		q.wander = max(q.wander, 0)
		out = append(out, q.answer(category, shots, kept, order))
	}
	return out
}

// question is what is asked of one outcome. tau is the effect that the e-value
// looks for, declared with the category and never taken from a prior.
type question struct {
	name               glossary.Name
	prior, weak        Prior
	goal               glossary.Goal
	margin, tau, alpha float64
	wander             float64
	block              int
}

func (q question) answer(category glossary.Category, shots, kept []placed, order Order) Statement {
	out := Statement{Name: q.name, Unit: q.name.Unit(), Goal: q.goal, Margin: q.margin, Prior: q.prior, Verdict: CannotTell}
	e, sides, ok := q.estimate(category, shots, kept, order.Known)
	out.NBaseline, out.NCandidate = e.nb, e.nc
	if !ok {
		out.NotYet = true
		out.More = max(minPerSide-e.nb, minPerSide-e.nc, 0)
		out.Why = fmt.Sprintf("needs %d shots with each club, has %d and %d", minPerSide, e.nb, e.nc)
		if out.More == 0 {
			out.Why = "the shots do not differ from each other, as a stuck reading would"
		}
		return out
	}
	out.Baseline, out.Candidate = sides[0], sides[1]
	if out.Plain = sides; !q.name.Tightness() {
		out.Plain = averages(meanValue(q.name), shots)
	}
	out.Estimate, out.se = e.change, e.se
	if e.tight {
		out.Estimate = e.spreadChange
		out.spreads = [2]spread{spreadOf(sides[0], e.d2), spreadOf(sides[1], e.d1)}
	}
	d, held, alone := e.believed(q.prior, q.weak)
	out.Change, out.Low, out.High = d.mean(), d.quantile(0.025), d.quantile(0.975)
	o := oddsOf(d, e, q.goal, q.margin, q.name.Sided())
	out.ProbBetter, out.ProbSame = o.better, o.same
	out.EValue = e.eValue(q.tau)
	without := o
	if q.prior.Doubt > 0 {
		without = oddsOf(alone, e, q.goal, q.margin, q.name.Sided())
		out.Against = Against{Asked: true, Held: held, Surprise: e.surprise(q.prior), Change: alone.mean(), Low: alone.quantile(0.025),
			High:       alone.quantile(0.975),
			ProbBetter: without.better, Verdict: judge(without, out.EValue, q.alpha)}
		out.Against.Disagrees = out.Against.Surprise < Disagreement
	}
	if order.Confounded {
		out.Why = "club and swing changed together: hit the incumbent again under the present instruction"
		out.Needed, out.Against.Verdict = Needed{P50: -1, P90: -1}, ""
		return out
	}
	out.Verdict = judge(o, out.EValue, q.alpha)
	if q.prior.Large > 0 {
		// As if all changes were large: what the shots say by themselves.
		without = oddsOf(e.posterior(Prior{Mean: q.prior.Mean, SD: q.prior.LargeSD}), e, q.goal, q.margin, q.name.Sided())
	}
	if out.Verdict == Same && without.same < 0.5 {
		// 'Same' needs no e-value, so a sure prior alone could say it.
		out.Verdict, out.Why = CannotTell, "the prior says practically the same; the shots do not say so yet"
	}
	if out.Verdict == CannotTell {
		if held < 0.5 {
			q.prior = q.weak // what the futures are judged with
		}
		out.Needed = q.needed(e, d)
	}
	return out
}

// estimate is what the shots alone say of the outcome (of a spread those that are
// kept), with the value of either side; false where there are too few shots or they
// do not differ.
func (q question) estimate(category glossary.Category, shots, kept []placed, drift bool) (e estimate, sides [2]float64, ok bool) {
	if q.name.Tightness() {
		return q.tightness(category, kept)
	}
	return q.mean(shots, drift)
}

// mean is the estimate of a mean from all shots.
func (q question) mean(shots []placed, drift bool) (e estimate, sides [2]float64, ok bool) {
	e, ok = meanEstimate(meanValue(q.name), shots, drift, q.wander)
	return e, [2]float64{e.level - e.share*e.change, e.level + (1-e.share)*e.change}, ok
}

// tightness is the estimate of a spread from shots of which none is a mishit.
func (q question) tightness(category glossary.Category, shots []placed) (e estimate, sides [2]float64, ok bool) {
	b, c := pool(shots, false, relative(category)), pool(shots, true, relative(category))
	if q.name == glossary.Area {
		if e, ok = areaEstimate(b, c); ok {
			sides = [2]float64{math.Sqrt(b.scatter().Det()) / float64(b.df), math.Sqrt(c.scatter().Det()) / float64(c.df)}
		}
		return e, sides, ok
	}
	axis := 0
	if q.name == glossary.Direction {
		axis = 1
	}
	if e, ok = axisEstimate(b, c, axis); ok {
		sides = [2]float64{math.Sqrt(b.a[2*axis] / e.d2), math.Sqrt(c.a[2*axis] / e.d1)}
	}
	return e, sides, ok
}
