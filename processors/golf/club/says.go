package club

import (
	"fmt"
	"math"
	"strconv"

	"fairlead/ingest/contract/unit"
)

// GripSizes are the names of a grip's size and the diameter of the core that
// they come to over a 0.600 in butt: the trade names the finished size, each a
// number of 64ths of an inch over or under the standard one.
var GripSizes = map[string]float64{
	"undersize": 0.600*Inch - Inch/64, "standard": 0.600 * Inch, "midsize": 0.600*Inch + 4*Inch/64, "oversize": 0.600*Inch + 6*Inch/64,
	"jumbo": 0.600*Inch + 8*Inch/64,
}

// TradeStep is the trade's step of a part of a club: its size, and its unit as it is
// written in a change, such as +1/2 in. No step is 0.
func TradeStep(name string, q unit.Quantity) (size float64, in string) {
	switch {
	case name == "grip_size":
		return 1.0 / 64, "in"
	case name == "torque":
		return 0.5, "°"
	case name == "toe_hang":
		return 5, "°"
	}
	switch q {
	case unit.Length:
		return 0.5, "in"
	case unit.Angle:
		return 1, "°"
	case unit.Mass:
		return 2, "g"
	case unit.Moment:
		return 1, "points"
	case unit.Frequency:
		return 2, "cpm"
	case unit.Ratio:
		return 1, ""
	}
	return 0, ""
}

// changeWords are what a part becomes that grows, and that shrinks.
var changeWords = map[string][2]string{
	"length": {"longer", "shorter"}, "lie": {"up", "flat"}, "loft": {"weaker", "stronger"}, "stated_loft": {"weaker", "stronger"},
	"face_angle":  {"open", "closed"},
	"head_weight": {"heavier head", "lighter head"}, "shaft_weight": {"heavier shaft", "lighter shaft"},
	"grip_weight":  {"heavier grip", "lighter grip"},
	"total_weight": {"heavier", "lighter"}, "swing_weight": {"up in swing weight", "down in swing weight"},
	"grip_size": {"thicker grip", "thinner grip"},
	"tip_trim":  {"more tip trim", "less tip trim"}, "butt_trim": {"more butt trim", "less butt trim"},
	"bounce": {"more bounce", "less bounce"},
	"torque": {"more torque", "less torque"}, "frequency": {"stiffer", "softer"}, "grip_wraps": {"more grip wraps", "fewer grip wraps"},
}

// Change says a change of a part as fitters do: ½ in longer, 1° flat, 2 points
// up in swing weight. change is in the stored unit and of a part that was was.
func (f Figure) Change(change float64) string {
	words, ok := changeWords[f.Name]
	if !ok {
		words = [2]string{"more", "less"}
	}
	word := words[0]
	if change < 0 {
		word = words[1]
	}
	size := math.Abs(change)
	short := func(x float64) string { return strconv.FormatFloat(math.Round(x*100)/100, 'f', -1, 64) }
	switch f.Quantity {
	case unit.Length:
		if text, exact := inches(size / Inch); exact {
			return text + " in " + word
		}
		return short(size*1000) + " mm " + word
	case unit.Angle:
		return short(size) + "° " + word
	case unit.Mass:
		return short(size*1000) + " g " + word
	case unit.Moment:
		before := 0.0
		if f.Was != nil {
			before = *f.Was
		}
		n := short(math.Abs(float64(SwingWeightOf(before+change) - SwingWeightOf(before))))
		if n == "1" {
			return n + " point " + word
		}
		return n + " points " + word
	case unit.Frequency:
		return short(size) + " cpm " + word
	}
	return fmt.Sprintf("%s %s", short(size), word)
}

// vulgars are the broken inches that have a sign of their own, in eighths.
var vulgars = [8]string{"", "⅛", "¼", "⅜", "½", "⅝", "¾", "⅞"}

// inches writes a length with the fractions that a rule has, and says whether
// it is one of them.
func inches(x float64) (text string, exact bool) {
	parts := x * 64
	n := int(math.Round(parts))
	if n == 0 || math.Abs(parts-float64(n)) > 1e-3 {
		return "", false
	}
	whole, rest := n/64, n%64
	switch {
	case rest == 0:
		return strconv.Itoa(whole), true
	case rest%8 == 0 && whole == 0:
		return vulgars[rest/8], true
	case rest%8 == 0:
		return strconv.Itoa(whole) + vulgars[rest/8], true
	}
	under := 64
	for rest%2 == 0 {
		rest, under = rest/2, under/2
	}
	text = fmt.Sprintf("%d/%d", rest, under)
	if whole > 0 {
		text = strconv.Itoa(whole) + " " + text
	}
	return text, true
}
