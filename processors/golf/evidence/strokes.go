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

// aim is how a club is hit: its carry, m, and the logarithms of its spreads, of carry in
// percent and of direction in degrees.
type aim struct{ carry, length, width float64 }

func (a aim) plus(b aim, sign float64) aim {
	return aim{a.carry + sign*b.carry, a.length + sign*b.length, a.width + sign*b.width}
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
	known := true
	takes := func(x aim) float64 {
		e, err := on.Expect(category, strokes.Scatter{Carry: x.carry, CarryShare: math.Exp(x.length) / 100, Direction: math.Exp(x.width)})
		known = known && err == nil
		return e
	}
	was := aim{carry.Baseline, length.spreads[0].ln, side.spreads[0].ln}
	is := aim{carry.Baseline, length.spreads[1].ln, side.spreads[1].ln}
	variance := 0.0
	doubt := func(of, by aim) {
		half := (takes(of.plus(by, 1)) - takes(of.plus(by, -1))) / 2
		variance += half * half
	}
	if out.Tee {
		is.carry += carry.Estimate
		doubt(is, aim{carry: carry.se})
	}
	out.Change = takes(is) - takes(was)
	for i, club := range []aim{was, is} {
		doubt(club, aim{length: tailed * length.spreads[i].se})
		doubt(club, aim{width: tailed * side.spreads[i].se})
	}
	if !known || !(variance > 0) {
		return nil
	}
	wide := math.Sqrt(variance)
	out.Low, out.High = out.Change-1.959964*wide, out.Change+1.959964*wide
	out.ProbFewer = 0.5 * math.Erfc(out.Change/wide/math.Sqrt2)
	return out
}
