package sheets

import (
	"math"
	"strings"

	"fairlead/dashboards/figure"
	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/glossary"
	"fairlead/processors/golf/club"
)

// Operation is a piece of work that the build asks for, and what to beware of.
type Operation struct {
	Name     string    `json:"name"`
	Why      string    `json:"why"`
	Cautions []Caution `json:"cautions"`
}

// Caution is one thing to beware of.
type Caution struct {
	Hazard string `json:"hazard"`
	Do     string `json:"do"`
	Source string `json:"source"` // whose word counts
}

var operationNames = map[club.Operation]string{
	club.OpPullHead: "Take the head off", club.OpCutShaft: "Cut the shaft", club.OpTipTrim: "Trim the tip",
	club.OpBond:     "Bond the head (epoxy)",
	club.OpHeadMass: "Weight the head", club.OpBend: "Bend loft or lie", club.OpGrind: "Grind the sole", club.OpGrip: "Fit the grip (solvent)",
	club.OpAdjustHosel: "Set the hosel", club.OpHitTest: "Hit check",
}

// work lists the operations that a build involves, in the order of the bench,
// with the reason for each. Where the sheet can't know whether one is needed,
// the reason says 'if'.
func work(category glossary.Category, b, base *event.Build) []Operation {
	why := map[club.Operation]string{
		club.OpBond:    "head and ferrule onto the shaft",
		club.OpGrip:    "grip and tape",
		club.OpHitTest: "the delivered club is hit before it counts as done",
	}
	known := func(f event.BuildField) bool { return b.Spec(f) != nil }
	changed := func(f event.BuildField) bool { return known(f) && !same(b.Spec(f), base.Spec(f)) }
	why[club.OpCutShaft] = "to length"
	if x, ok := b.Number(event.BuildField_BUILD_BUTT_TRIM); ok && x == 0 {
		why[club.OpCutShaft] = "if the raw length asks for it (a butt trim of 0 is ordered)"
	}
	if x, ok := b.Number(event.BuildField_BUILD_TIP_TRIM); ok && x > 0 {
		why[club.OpTipTrim] = "a tip trim is ordered"
	}
	if base.GetGamer() && (base.Spec(event.BuildField_BUILD_HEAD_MODEL) == nil || !changed(event.BuildField_BUILD_HEAD_MODEL)) {
		why[club.OpPullHead] = "if the player's own head is used again"
	}
	if by, yes := shortened(b, base); yes {
		cutOnly(why, by)
	}
	switch category {
	case glossary.Iron, glossary.Wedge, glossary.Putter:
		if known(event.BuildField_BUILD_LIE) || known(event.BuildField_BUILD_LOFT) {
			why[club.OpBend] = "if the head does not come at the ordered loft and lie"
		}
		stated, ok1 := b.Number(event.BuildField_BUILD_STATED_LOFT)
		actual, ok2 := b.Number(event.BuildField_BUILD_LOFT)
		if ok1 && ok2 && math.Abs(stated-actual) > club.DefaultTolerances()[club.SpecLoft] {
			s := figure.In("°", 1, 2)
			why[club.OpBend] = "loft " + s.With(s.SignedShort(actual-stated)) + " against what is printed on the head; and lie"
		}
		if changed(event.BuildField_BUILD_SOLE) && base.Spec(event.BuildField_BUILD_HEAD_MODEL) != nil &&
			!changed(event.BuildField_BUILD_HEAD_MODEL) {
			why[club.OpGrind] = "if the ordered sole is to be ground from the head's own"
		}
	}
	if known(event.BuildField_BUILD_HOSEL_SETTING) {
		why[club.OpAdjustHosel] = "position “" + b.Spec(event.BuildField_BUILD_HOSEL_SETTING).Text + "”"
	}
	if known(event.BuildField_BUILD_MOVABLE_WEIGHTS) || known(event.BuildField_BUILD_SWING_WEIGHT) ||
		known(event.BuildField_BUILD_HEAD_WEIGHT) {
		why[club.OpHeadMass] = "if the head has to be brought to weight"
	}
	var out []Operation
	for _, op := range club.Operations() {
		reason, involved := why[op]
		if !involved {
			continue
		}
		list, err := club.Cautions(op)
		if err != nil {
			continue // an operation of the list always has its cautions
		}
		o := Operation{Name: operationNames[op], Why: reason}
		for _, c := range list {
			o.Cautions = append(o.Cautions, Caution{c.Hazard, c.Do, c.Source})
		}
		out = append(out, o)
	}
	return out
}

// caution stands over the cautions of a sheet.
const caution = "These lines remind people who know the work. They replace no safety data sheet, no maker's limits, no rules of the " +
	"workplace, and nobody qualified; where they differ, those count."

// lowerFirst makes a sentence fit into another one.
func lowerFirst(s string) string {
	if s == "" {
		return s
	}
	return strings.ToLower(s[:1]) + s[1:]
}
