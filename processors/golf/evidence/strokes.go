package evidence

import (
	"math"

	"gonum.org/v1/gonum/mathext"

	"fairlead/ingest/contract/glossary"
	"fairlead/processors/golf/strokes"
)

// tailed widens the doubt of a spread for shots that have tails: a Student's t of ten
// degrees has a kurtosis of one beyond the normal's, and the variance of a variance grows
// by half of that (1 + κ/2).
var tailed = math.Sqrt(1.5)

// spread is the logarithm of a standard deviation as its shots tell it, unbiased, with its
// standard error (the moments of ln χ²: ½[ψ(ν/2) − ln(ν/2)] and ¼ψ′(ν/2)).
type spread struct{ ln, se float64 }

func spreadOf(sd, degrees float64) spread {
	half := degrees / 2
	return spread{math.Log(sd) - 0.5*(mathext.Digamma(half)-math.Log(half)), 0.5 * math.Sqrt(mathext.Zeta(2, half))}
}

// valued says what a candidate is worth on a hole, one number for longer but wider, by
// what the shots alone say of carry and of both spreads: a prior that takes changes of a
// spread for small would count what is longer in full and what is wider in part. The doubt
// is theirs by the delta method, taken for independent: they are estimated from different
// moments of a nearly normal scatter. nil where one of them is not known yet, or the swing
// changed too.
func valued(category glossary.Category, r Report, hole *strokes.Hole) *strokes.Worth {
	carry, okC := r.Outcome(glossary.Carry)
	length, okL := r.Outcome(glossary.DistanceControl)
	side, okS := r.Outcome(glossary.Direction)
	if !strokes.Valued(category) || !okC || !okL || !okS || carry.NotYet || length.NotYet || side.NotYet || r.Order.Confounded {
		return nil
	}
	on := strokes.Usual()
	if hole != nil {
		on = *hole
	}
	out := &strokes.Worth{Tee: strokes.FromTee(category), Hole: on.Length, Width: on.Fairway, Of: on.Of}
	if !out.Tee {
		out.Hole, out.Width = carry.Baseline, 2*on.Green
	}
	// What is known: carry and its change, m, and the logarithms of both clubs' spreads.
	type state struct {
		longer        float64
		length, width [2]float64
	}
	known := true
	change := func(x state) float64 {
		var took [2]float64
		for i := range took {
			at := strokes.Scatter{Carry: carry.Baseline, CarryShare: math.Exp(x.length[i]) / 100, Direction: math.Exp(x.width[i])}
			if out.Tee && i == 1 {
				at.Carry += x.longer
			}
			e, err := on.Expect(category, at)
			known = known && err == nil
			took[i] = e
		}
		return took[1] - took[0]
	}
	at := state{carry.Estimate, [2]float64{length.spreads[0].ln, length.spreads[1].ln}, [2]float64{side.spreads[0].ln, side.spreads[1].ln}}
	out.Change = change(at)
	variance := 0.0
	part := func(place *float64, se float64) {
		middle := *place
		*place = middle + se
		up := change(at)
		*place = middle - se
		half := (up - change(at)) / 2
		*place = middle
		variance += half * half
	}
	if out.Tee {
		part(&at.longer, carry.se)
	}
	for i := range 2 {
		part(&at.length[i], tailed*length.spreads[i].se)
		part(&at.width[i], tailed*side.spreads[i].se)
	}
	if !known || !(variance > 0) {
		return nil
	}
	wide := math.Sqrt(variance)
	out.Low, out.High = out.Change-1.959964*wide, out.Change+1.959964*wide
	out.ProbFewer = 0.5 * math.Erfc(out.Change/wide/math.Sqrt2)
	return out
}
