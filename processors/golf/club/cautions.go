package club

import (
	"fmt"
	"strings"
)

// Operation is a piece of work on a club that can hurt someone or spoil a part.
type Operation string

// The operations that a build sheet may ask for.
const (
	OpPullHead    Operation = "pull-head"    // heat the hosel and take the head off
	OpCutShaft    Operation = "cut-shaft"    // cut at the butt
	OpTipTrim     Operation = "tip-trim"     // cut at the tip
	OpBond        Operation = "bond"         // epoxy a head, ferrule or extension
	OpBend        Operation = "bend"         // bend loft or lie
	OpGrip        Operation = "grip"         // take off and fit a grip
	OpHeadMass    Operation = "head-mass"    // lead tape, powder, plugs, screws
	OpGrind       Operation = "grind"        // grind a sole or leading edge
	OpHitTest     Operation = "hit-test"     // hit balls with a built or test club
	OpAdjustHosel Operation = "adjust-hosel" // turn an adjustable hosel
)

// Operations lists them in the order a build goes through them.
func Operations() []Operation {
	return []Operation{OpPullHead, OpCutShaft, OpTipTrim, OpBond, OpHeadMass, OpBend, OpGrind, OpGrip, OpAdjustHosel, OpHitTest}
}

// Caution is one thing to beware of. It reminds people who know the work; it
// replaces neither a product's safety data sheet, the part maker's limits, the
// workplace's rules, nor somebody qualified.
type Caution struct {
	Hazard string // what can go wrong
	Do     string // the usual precaution
	Source string // whose word counts
}

const (
	sheet = "the product's safety data sheet"
	maker = "the part maker's instructions"
	local = "the workplace's and local safety rules"
)

var eyes = Caution{"Chips, splinters and snapping parts reach the eyes.", "Wear eye protection; so does everybody near.", local}

var cautions = map[Operation][]Caution{
	OpPullHead: {
		{"Heated epoxy gives off irritating fumes, and hot heads burn.",
			"Work in moving air, wear heat-proof gloves, use no more heat than the bond needs.", sheet},
		{"Heat ruins a graphite shaft and a painted or plated head.", "Use a puller; never twist a graphite shaft.", maker},
		eyes,
	},
	OpCutShaft: {
		{"Dust of cut carbon irritates skin and lungs.",
			"Wear a fitting respirator and gloves, cut wet or with extraction, wipe up and do not blow.", local},
		{"A cut cannot be undone.", "Measure twice, from the same end and by the same method as the sheet.", maker},
		eyes,
	},
	OpTipTrim: {
		{"Tip trimming cannot be undone, and changes stiffness for good.",
			"Check the trim chart and the sheet with a second person before cutting.", maker},
		{"Dust of cut carbon irritates skin and lungs.",
			"Wear a fitting respirator and gloves, cut wet or with extraction, wipe up and do not blow.", local},
		eyes,
	},
	OpBond: {
		{"Epoxy sensitises skin, for good once it has.", "Wear gloves that its data sheet names, keep it off skin, work in moving air.", sheet},
		{"A head that is not cured through flies off.",
			"Let it cure as its data sheet says for the room's temperature; nobody hits it before full cure.", sheet},
	},
	OpBend: {
		{"A head bent too far or of the wrong metal cracks, at once or later in a swing.",
			"Never bend past the maker's limit; do not bend a head whose limit is not known.", maker},
		{"The bar slips or the hosel snaps.", "Clamp fully, stand clear of the bar's swing, bend in small steps and gauge each.", local},
		eyes,
	},
	OpGrip: {
		{"Grip solvent burns easily, and its vapour harms.", "No flame, spark or heater near; moving air; gloves; closed bins for rags.", sheet},
		{"A hook blade slips toward the hand, and cuts graphite.", "Cut away from the body; on graphite use a blade that cannot score it.",
			local},
		{"A grip that has not set turns in the hands.", "Let it dry as long as its maker says before a ball is hit.", maker},
	},
	OpHeadMass: {
		{"Lead is poisonous; tungsten and lead powder are dust.", "Wear gloves, wash hands before eating, open no powder in moving air.", sheet},
		{"A weight or screw that is loose leaves the head in a swing.", "Tighten to the maker's torque; check after the first balls.", maker},
	},
	OpGrind: {
		{"Grinding throws sparks and metal dust.", "Eye, ear and breathing protection, no solvent near, no loose sleeves.", local},
		{"Metal taken off does not come back, and the head gets lighter.", "Mark, weigh and gauge between passes.", maker},
		eyes,
	},
	OpAdjustHosel: {
		{"A hosel screw that is not home lets the head fly off.",
			"Tighten with the maker's wrench to its stop; check again after the first balls.", maker},
	},
	OpHitTest: {
		{"A swung club and a hit ball hurt whoever is in the way.",
			"One person in the hitting area; others behind the line; the net or screen checked first.", local},
		{"A cracked shaft or loose head breaks in the swing.", "Look over shaft, ferrule and face before the first ball; begin with half swings.",
			maker},
		{"Swinging in pain makes it worse.", "Stop at pain; send the player to a doctor or physiotherapist, and do not fit around it.",
			"a qualified clinician"},
	},
}

// Cautions returns what to beware of in an operation, as data for the build
// sheet. An unknown operation is an *InputError.
func Cautions(op Operation) ([]Caution, error) {
	list, ok := cautions[op]
	if !ok {
		var all []string
		for _, o := range Operations() {
			all = append(all, string(o))
		}
		return nil, &InputError{Field: "operation", Value: fmt.Sprintf("%q", string(op)), Reason: "is not known",
			Try: "use one of " + strings.Join(all, ", ")}
	}
	return append([]Caution(nil), list...), nil
}
