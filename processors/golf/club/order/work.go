package order

import (
	"fmt"
	"math"

	"fairlead/processors/golf/club"
)

// Bend is what the studio's own catalogue says of bending a head. Nobody else
// knows it: the zero value says that it is not known.
type Bend struct {
	Metal string  // cast, forged, as the catalogue says; empty: not known
	Limit float64 // ± degrees that its maker allows; 0: not known
}

// Job is one club on the bench: what it is now and what it is to be.
type Job struct {
	// Own: a finished club is altered; else one is built from parts.
	Own        bool
	Was        map[Part]float64 // of the finished club, or of the head as it comes; absent: not known
	Want       map[Part]float64
	NewHead    bool // another head than the one in Was
	NewShaft   bool
	NewGrip    bool
	Setting    string // of an adjustable hosel; empty: the head has none
	Bend       Bend
	Unbendable bool // no head of this kind is bent
}

// Step is one piece of work, with what it is for.
type Step struct {
	Operation club.Operation
	Why       string
	Stop      bool // not before somebody settled it
}

// Work lists what a job takes, in the order of the bench: what the change asks
// for and nothing else. Shortening a finished club at the butt takes its grip
// off and leaves its head alone.
func Work(j Job) (out []Step) {
	need := map[club.Operation]Step{}
	add := func(op club.Operation, why string) {
		if _, known := need[op]; !known {
			need[op] = Step{Operation: op, Why: why}
		}
	}
	moved := func(p Part, tolerance float64) (by float64, yes bool) {
		was, ok1 := j.Was[p]
		want, ok2 := j.Want[p]
		return want - was, ok1 && ok2 && math.Abs(want-was) > tolerance
	}
	tol := club.DefaultTolerances()
	switch {
	case !j.Own:
		add(club.OpCutShaft, "to length")
		add(club.OpBond, "head and ferrule onto the shaft")
		add(club.OpGrip, "grip and tape")
	case j.NewShaft || j.NewHead:
		add(club.OpPullHead, "the head comes off for the change of head or shaft")
		add(club.OpBond, "head and ferrule onto the shaft")
		add(club.OpGrip, "the grip is fitted anew")
		if j.NewShaft {
			add(club.OpCutShaft, "to length")
		}
	}
	if by, yes := moved(Length, 1e-4); j.Own && !j.NewShaft && yes {
		if by < 0 {
			add(club.OpCutShaft, fmt.Sprintf("%.1f mm off the butt; the head stays on", -by*1000))
		} else {
			add(club.OpBond, fmt.Sprintf("an extension of %.1f mm into the butt; the head stays on", by*1000))
		}
		add(club.OpGrip, "the grip comes off and a grip is fitted")
	}
	if j.NewGrip {
		add(club.OpGrip, "the ordered grip")
	}
	if tip := j.Want[TipTrim]; tip > 0 && (!j.Own || j.NewShaft) {
		add(club.OpTipTrim, fmt.Sprintf("%.1f mm by the maker's chart", tip*1000))
	}
	if _, yes := moved(Head, tol[club.SpecHeadMass]); yes {
		add(club.OpHeadMass, "the head is brought to weight")
	} else if _, yes := moved(SwingWeight, tol[club.SpecSwingWeight]*club.Point); yes && j.Own {
		add(club.OpHeadMass, "the club is brought to its swing weight")
	}
	j.aim(need, moved, tol)
	add(club.OpHitTest, "the club is hit before it counts as done")
	for _, op := range club.Operations() {
		if s, ok := need[op]; ok {
			out = append(out, s)
		}
	}
	return out
}

// aim is what loft and lie ask for: an adjustable hosel is set, other heads are
// bent, within what the studio's catalogue says and never on our word.
func (j Job) aim(need map[club.Operation]Step, moved func(Part, float64) (float64, bool), tol club.Tolerances) {
	if j.Setting != "" {
		need[club.OpAdjustHosel] = Step{Operation: club.OpAdjustHosel, Why: "to “" + j.Setting + "”, then gauge loft, lie and face"}
		return
	}
	loft, a := moved(Loft, tol[club.SpecLoft])
	lie, b := moved(Lie, tol[club.SpecLie])
	if !a && !b || j.Unbendable {
		return
	}
	most := math.Max(math.Abs(loft), math.Abs(lie))
	s := Step{Operation: club.OpBend, Why: fmt.Sprintf("loft %+.1f°, lie %+.1f°", loft, lie)}
	switch {
	case j.Bend.Limit <= 0:
		s.Why += "; the catalogue says no limit for this head: ask its maker before it is bent"
		s.Stop = true
	case most > j.Bend.Limit:
		s.Why += fmt.Sprintf("; more than the %g° that the catalogue allows this %s head: order another head", j.Bend.Limit, j.Bend.Metal)
		s.Stop = true
	default:
		s.Why += fmt.Sprintf("; the catalogue allows this %s head %g°", j.Bend.Metal, j.Bend.Limit)
	}
	need[club.OpBend] = s
}
