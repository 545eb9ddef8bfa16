package evidence

import (
	"fairlead/ingest/contract/glossary"
	"fmt"
	"math"
)

// Trade is shown when a club gains on one side and pays on the other: longer
// but wider, or shorter but tighter. It is no score: which of the two matters
// depends on the player and the course. Width is the standard deviation of
// direction as metres across at each club's own carry, so what grows merely
// because the ball flies farther is seen as well.
type Trade struct {
	Statement     string
	CarryChange   float64 // m
	ProbLonger    float64
	WidthBaseline float64 // m
	WidthChange   float64 // m
	ProbWider     float64 // of direction in degrees
}

// leaning is how likely both halves of a trade must be for it to be shown.
const leaning = 0.8

func trade(category glossary.Category, r Report) *Trade {
	carry, okC := r.Outcome(glossary.Carry)
	direction, okD := r.Outcome(glossary.Direction)
	if category == glossary.Putter || !okC || !okD || carry.NotYet || direction.NotYet {
		return nil
	}
	t := Trade{CarryChange: carry.Change, ProbLonger: carry.ProbBetter, ProbWider: 1 - direction.ProbBetter}
	if carry.Goal.Way != glossary.Higher {
		t.ProbLonger = 1 - carry.ProbBetter
		if carry.Goal.Way == glossary.Toward {
			return nil // a distance was asked for: longer is no gain
		}
	}
	// The changes after the prior, not the raw ones, so that the picture agrees with the odds.
	width := func(meanCarry, sdDeg float64) float64 { return meanCarry * math.Tan(sdDeg*math.Pi/180) }
	t.WidthBaseline = width(carry.Baseline, direction.Baseline)
	t.WidthChange = width(carry.Baseline+carry.Change, direction.Baseline*math.Exp(direction.Change)) - t.WidthBaseline
	switch {
	case t.ProbLonger >= leaning && t.ProbWider >= leaning:
		t.Statement = fmt.Sprintf("longer but wider: %.1f m more carry, and two shots in three within %.1f m of the line's centre instead of "+
			"%.1f m",
			t.CarryChange, t.WidthBaseline+t.WidthChange, t.WidthBaseline)
	case t.ProbLonger <= 1-leaning && t.ProbWider <= 1-leaning:
		t.Statement = fmt.Sprintf("shorter but tighter: %.1f m less carry, and two shots in three within %.1f m of the line's centre instead "+
			"of %.1f m",
			-t.CarryChange, t.WidthBaseline+t.WidthChange, t.WidthBaseline)
	default:
		return nil
	}
	return &t
}
