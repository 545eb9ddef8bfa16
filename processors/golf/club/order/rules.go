package order

import "fairlead/processors/golf/club"

// Rules say how a set follows from the club that was hit. The zero value is the
// trade's habit, a starting point that a fitter overrules by rule or by club.
type Rules struct {
	// LengthStep is the step from iron to iron in m; 0 keeps half an inch.
	LengthStep float64
	// LieStep is how many degrees more upright a club is for each half inch that
	// it is shorter; nil: half a degree.
	LieStep *float64
	// WedgePoints is how many swing weight points wedges read above the irons.
	WedgePoints float64
	// RawShaft is the length in m of an uncut shaft; 0: not known, and no butt
	// trim is derived.
	RawShaft float64
	// TipStep is how much more of the tip is cut for each half inch that a club
	// is shorter than the one that was hit, m, by the trim chart of the shaft's
	// maker; 0: the same trim throughout.
	TipStep float64
}

// halfInch is the step by which the trade counts from club to club, in m.
const halfInch = club.Inch / 2

// hosel is how far the tip of a shaft ends above the sole, along the shaft, in
// m: the convention of club.Club's shaft as cut.
const hosel = club.Inch

func (r Rules) lieStep() float64 {
	if r.LieStep == nil {
		return 0.5
	}
	return *r.LieStep
}
