package sim

import (
	"math"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/unit"
)

// Attribute is a property of a club to which a player responds.
type Attribute int

// The attributes, in the order of all tables of this package.
const (
	Length Attribute = iota
	Loft
	Lie
	ShaftWeight
	Flex
	Torque
	HeadWeight
	SwingWeight
	attributes
)

// Attributes is one value for each attribute, in its stored unit.
type Attributes [attributes]float64

// AttributeInfo names an attribute, its part of a build, its stored unit and
// the step by which effects are counted: a change that a shop would make.
type AttributeInfo struct {
	Name  string           `json:"name"`
	Unit  string           `json:"unit"`
	Field event.BuildField `json:"-"`
	Step  float64          `json:"step"`
}

const swingWeightPoint = 1.75 * unit.Inch * unit.Ounce // kg·m, 1.75 in·oz

// Info describes an attribute.
func (a Attribute) Info() AttributeInfo {
	return [attributes]AttributeInfo{
		{"length", "m", event.BuildField_BUILD_LENGTH, 0.0127},
		{"loft", "deg", event.BuildField_BUILD_LOFT, 1},
		{"lie", "deg", event.BuildField_BUILD_LIE, 1},
		{"shaft_weight", "kg", event.BuildField_BUILD_SHAFT_WEIGHT, 0.010},
		{"flex", "index", event.BuildField_BUILD_FLEX, 1},
		{"torque", "deg", event.BuildField_BUILD_TORQUE, 1},
		{"head_weight", "kg", event.BuildField_BUILD_HEAD_WEIGHT, 0.005},
		{"swing_weight", "kg·m", event.BuildField_BUILD_SWING_WEIGHT, swingWeightPoint},
	}[a]
}

// steps is a less b in steps of each attribute.
func (a Attributes) steps(b Attributes) (x Attributes) {
	for i := range a {
		x[i] = (a[i] - b[i]) / Attribute(i).Info().Step
	}
	return x
}

// flexLetters are the trade's letters by index: L 0 to X 4.
var flexLetters = [...]string{"L", "A", "R", "S", "X"}

func flexLetter(index float64) string {
	return flexLetters[int(min(4, max(0, math.Round(index))))]
}

// heft returns the swing weight of a club in kg·m about the trade's 14 inch
// fulcrum, from the masses of head, shaft and grip and where they sit: head at
// the tip, shaft a little behind its middle, grip at 11 cm. Good to a point.
func heft(length, head, shaft, grip float64) float64 {
	const fulcrum = 14 * unit.Inch
	return head*(length-fulcrum-0.01) + shaft*(0.46*length+0.05-fulcrum) + grip*(0.11-fulcrum)
}
