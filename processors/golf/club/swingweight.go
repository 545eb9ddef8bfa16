package club

import (
	"fairlead/ingest/contract/unit"
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Units of the trade in SI.
const (
	Inch     = unit.Inch
	Ounce    = unit.Ounce
	InchOz   = Inch * Ounce        // kg·m, one inch-ounce
	Fulcrum  = 14 * Inch           // m from the butt: where the swing weight scale has its pivot
	Point    = 1.75 * InchOz       // kg·m, one swing weight point (about 50 gram-inches)
	momentD0 = 213.5 * InchOz      // kg·m, the moment that the scale calls D0
	pointsD0 = 30                  // D0 lies three letters of ten points above A0
	momentA0 = momentD0 - 30*Point // kg·m
	maxPoint = 70                  // the scale ends at G10
	scaleFix = 1e-9                // keeps D1.9999999999 from printing as D1.10
)

// SwingWeight is a reading of the 14-inch swing weight scale, in points above
// A0: B0 is 10, D0 is 30, D2 is 32. It may be fractional, and may lie beyond
// either end of the scale (A0 to G10), where a real club can but a real scale
// cannot go.
type SwingWeight float64

// SwingWeightOf returns the reading for a moment about the fulcrum in kg·m:
// D0 at 213.5 in·oz and 1.75 in·oz a point, as the scale is built.
func SwingWeightOf(moment float64) SwingWeight {
	return SwingWeight((moment - momentA0) / Point)
}

// Moment returns the moment about the fulcrum, in kg·m, that reads s.
func (s SwingWeight) Moment() float64 { return momentA0 + float64(s)*Point }

// OnScale reports whether a real scale could show the reading.
func (s SwingWeight) OnScale() bool { return s >= 0 && s <= maxPoint }

// String writes the reading as the trade does, to a tenth of a point: "D2.4".
// Off the scale it says by how much: "A0 less 3.0", "G10 plus 1.2".
func (s SwingWeight) String() string {
	points := math.Round(float64(s)*10+scaleFix) / 10
	switch {
	case points < 0:
		return fmt.Sprintf("A0 less %.1f", -points)
	case points > maxPoint:
		return fmt.Sprintf("G10 plus %.1f", points-maxPoint)
	}
	letter := min(int(points/10), 6) // G runs from 0 to 10
	return fmt.Sprintf("%c%s", 'A'+rune(letter), strconv.FormatFloat(math.Round(points*10-float64(letter)*100)/10, 'f', -1, 64))
}

// ParseSwingWeight reads a letter A to G and a number 0 to 9.9 (to 10 for G),
// such as "D2" or "c 9.5".
func ParseSwingWeight(text string) (SwingWeight, error) {
	bad := func(reason string) error {
		return &InputError{Field: "swing weight", Value: strconv.Quote(text), Reason: reason,
			Try: "write a letter A to G and points 0 to 9, such as D2 or C9.5"}
	}
	t := strings.ToUpper(strings.TrimSpace(text))
	if t == "" {
		return 0, bad("is empty")
	}
	letter := t[0]
	if letter < 'A' || letter > 'G' {
		return 0, bad("has no letter A to G")
	}
	points, err := strconv.ParseFloat(strings.TrimSpace(t[1:]), 64)
	if err != nil || math.IsNaN(points) {
		return 0, bad("has no number of points")
	}
	if points < 0 || points > 10 || (points == 10 && letter != 'G') {
		return 0, bad("has points outside its letter")
	}
	return SwingWeight(float64(letter-'A')*10 + points), nil
}

// MeasuredSwingWeight is the reading of a club whose mass (kg) and balance
// point (m from the butt) were measured: W·(balance − 14 in).
func MeasuredSwingWeight(mass, balance float64) (SwingWeight, error) {
	if err := firstError(
		within("club mass", mass, 0.05, 1.5, "kg", "weigh the whole club; 0.25 to 0.6 kg is usual"),
		within("balance point", balance, 0.1, 1.6, "m", "measure from the butt end to where the club balances on an edge"),
	); err != nil {
		return 0, err
	}
	return SwingWeightOf(mass * (balance - Fulcrum)), nil
}
