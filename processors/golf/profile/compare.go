package profile

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"fairlead/processors/golf/fleet"
)

// Setting says what else was different at the later visit. What is not known
// to be the same should be said to be different.
type Setting struct{ Ball, Surface, Device bool }

// changedBy is the standard deviation of what a change of ball, surface or
// device does by itself to a term (strike scatter: to its logarithm). Working
// values: devices disagree most on what they infer, a mat forgives a steep
// blow, a ball touches only what a device infers from it.
var changedBy = map[Term]struct{ ball, surface, device float64 }{
	Speed:         {0, 0.2, 0.7},
	Attack:        {0, 0.8, 1.2},
	Path:          {0, 0.3, 1.0},
	Face:          {0.2, 0.2, 1.0},
	FaceToPath:    {0.2, 0.2, 0.9},
	DynamicLoft:   {0.3, 0.5, 1.5},
	StrikeX:       {0, 0.0005, 0.003},
	StrikeY:       {0, 0.002, 0.003},
	StrikeScatter: {0, 0.05, 0.15},
	Tempo:         {0, 0, 0.1},
}

// Verdict is what may be said about one term between two visits.
type Verdict string

// Verdicts, from nothing to something.
const (
	NotYet     Verdict = "not yet"                            // too few shots at one visit
	Same       Verdict = "practically the same"               // the two days differ by less than matters to a build
	WithinDays Verdict = "no more than noise"                 // not told from visit-to-visit noise
	Confounded Verdict = "change of setting could explain it" // more than noise, but ball, surface or device differ
	Changed    Verdict = "changed"                            // more than all of these
)

// Change is one term at two visits. For the strike scatter all figures are of
// its logarithm, and Ratio is the scatter after over before.
type Change struct {
	Term          Term
	Before, After Estimate
	Diff          float64 // after − before
	Ratio         float64 // strike scatter only, else 0
	Low, High     float64 // interval of Diff with visit noise, at Level
	SEShots       float64 // from the shots alone
	SEVisit       float64 // with visit-to-visit noise, and what differs between the two clubs
	SESetting     float64 // with what the change of setting may do as well
	PNoise        float64 // two-sided, adjusted over the terms (Holm): noise would do as much
	PSetting      float64 // the same, with the change of setting
	ProbLess      float64 // probability that the two days differ by less than matters to a build
	Told          float64 // a change of the swing of this size, either way, is told in four of five such comparisons
	More          int     // more shots at the visit that has too few, for NotYet
	Verdict       Verdict
	df            float64
}

// alpha is the chance, over all terms together, of calling noise a change.
const alpha = 0.05

// sameProb is the probability at which a change is called too small to matter.
const sameProb = 0.9

// Compare says what changed in the swing between two visits. Both profiles
// must be of one category and hand, and adjusted to the same build or both not.
//
// Each difference is judged against three growing errors: of the shots, of
// visits and clubs (the noise of a visit at each of the two), of the setting. Its p-value
// is Student's with Satterthwaite's degrees: the noise of visits has those of what it was
// learnt from (Noise), clubs and setting count as known. Holm's (1979) step-down holds the
// chance of one false 'changed' among all terms to 5 %.
func Compare(before, after Profile, set Setting, noise Noise) ([]Change, error) {
	switch {
	case before.Category != after.Category:
		return nil, &ShotError{0, "profiles", "are of different clubs (" + string(before.Category) + ", " + string(after.Category) + ")",
			"compare like with like"}
	case before.Left != after.Left:
		return nil, &ShotError{0, "profiles", "are of different hands", "correct the hand of one visit"}
	case (before.Reference == nil) != (after.Reference == nil) || before.Reference != nil && *before.Reference != *after.Reference:
		return nil, &ShotError{0, "profiles", "are not adjusted to the same build", "Adjust both to one reference, or neither"}
	}
	if err := noise.check(); err != nil {
		return nil, err
	}
	var out []Change
	for _, t := range Terms() {
		c := Change{Term: t, Before: before.Get(t), After: after.Get(t), Verdict: NotYet}
		c.More = max(c.Before.More, c.After.More)
		if c.More == 0 {
			c.measure(set, noise, betweenBuilds(before, after, t))
		}
		out = append(out, c)
	}
	judge(out, set)
	return out, nil
}

// measure fills the difference and its errors; builds is the variance that the
// two clubs add to it.
func (c *Change) measure(set Setting, noise Noise, builds float64) {
	a, va := c.Before.model()
	b, vb := c.After.model()
	if c.Term != StrikeScatter {
		va, vb = c.Before.ShotSE*c.Before.ShotSE, c.After.ShotSE*c.After.ShotSE
	}
	c.Diff = b - a
	if c.Term == StrikeScatter {
		c.Ratio = math.Exp(c.Diff)
	}
	visit := noise.of(c.Term)
	s := changedBy[c.Term]
	extra := 0.0
	for _, part := range []struct {
		on bool
		sd float64
	}{{set.Ball, s.ball}, {set.Surface, s.surface}, {set.Device, s.device}} {
		if part.on {
			extra += part.sd * part.sd
		}
	}
	shots := va + vb
	c.SEShots = math.Sqrt(shots)
	visits := 2 * visit.SD * visit.SD
	total := shots + builds + visits
	c.SEVisit = math.Sqrt(total)
	c.SESetting = math.Sqrt(total + extra)
	spread := func(v, df float64) float64 { return v * v / df }
	den := spread(va, c.Before.DF) + spread(vb, c.After.DF)
	c.df = math.Min(1e6, total*total/(den+spread(visits, visit.DF)))
	t := c.student()
	half := c.SEVisit * t.Quantile(0.975)
	c.Low, c.High = c.Diff-half, c.Diff+half
	c.PNoise = 2 * t.CDF(-math.Abs(c.Diff)/c.SEVisit)
	c.PSetting = 2 * t.CDF(-math.Abs(c.Diff)/c.SESetting)
	m := facts[c.Term].margin
	// Visit noise has no part in this: it asks how the two days differ, not
	// how the player does.
	days := math.Sqrt(shots + builds)
	near := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: math.Min(1e6, math.Pow(days, 4)/den)}
	c.ProbLess = math.Max(0, near.CDF((m-c.Diff)/days)-near.CDF((-m-c.Diff)/days))
}

func (c *Change) student() distuv.StudentsT { return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: c.df} }

// judge adjusts the p-values over the known terms and gives the verdicts.
func judge(changes []Change, set Setting) {
	holm(changes, func(c *Change) *float64 { return &c.PNoise })
	holm(changes, func(c *Change) *float64 { return &c.PSetting })
	for i := range changes {
		c := &changes[i]
		switch {
		case c.More > 0:
		case c.PNoise <= alpha && c.PSetting <= alpha:
			c.Verdict = Changed
		case c.PNoise <= alpha:
			c.Verdict = Confounded
		case c.ProbLess >= sameProb:
			c.Verdict = Same
		default:
			c.Verdict = WithinDays
		}
	}
	power(changes)
}

// power says from which size on a change is told, by the strictest step of Holm's: of the
// first of all known terms. The size is that at which Student's t, moved by it, is beyond
// that step with a probability of four in five (the other tail is nothing there).
func power(changes []Change) {
	known := 0
	for _, c := range changes {
		if c.More == 0 {
			known++
		}
	}
	for i := range changes {
		if c := &changes[i]; c.More == 0 {
			t := c.student()
			c.Told = c.SESetting * (t.Quantile(1-alpha/2/float64(known)) + t.Quantile(0.8))
		}
	}
}

// holm replaces p-values by Holm's adjusted ones, over terms that are known.
func holm(changes []Change, p func(*Change) *float64) {
	var all []*float64
	for i := range changes {
		if changes[i].More == 0 {
			all = append(all, p(&changes[i]))
		}
	}
	values := make([]float64, len(all))
	for i, v := range all {
		values[i] = *v
	}
	for i, q := range fleet.Holm(values) {
		*all[i] = q
	}
}
