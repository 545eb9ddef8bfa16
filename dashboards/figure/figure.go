// Package figure writes stored values as people read them: in metric or
// imperial units, with as many digits as mean something, a real minus and no
// minus zero. It knows no page.
package figure

import (
	"fairlead/ingest/contract/unit"
	"fmt"
	"math"
	"strings"
)

// Unit is how a kind of value is written: the stored value times Factor, with
// so many digits behind the point.
type Unit struct {
	Name   string
	Factor float64
	Digits int
}

// In is a unit.
func In(name string, factor float64, digits int) Unit { return Unit{name, factor, digits} }

// Number writes a value without its unit.
func (u Unit) Number(v float64) string {
	v *= u.Factor
	if math.Abs(v) < 0.5*math.Pow(10, -float64(u.Digits)) {
		v = 0 // no minus zero
	}
	return strings.Replace(fmt.Sprintf("%.*f", u.Digits, v), "-", "−", 1)
}

// Short is Number without zeros behind the point.
func (u Unit) Short(v float64) string { return trimmed(u.Number(v)) }

// Signed is Number with a plus.
func (u Unit) Signed(v float64) string { return plus(u.Number(v)) }

// SignedShort is Short with a plus.
func (u Unit) SignedShort(v float64) string { return plus(u.Short(v)) }

// With puts the unit behind a number; a no-break space keeps them together.
func (u Unit) With(number string) string {
	switch u.Name {
	case "", "°":
		return number + u.Name
	}
	return number + "\u00a0" + u.Name
}

// Text is Short with the unit.
func (u Unit) Text(v float64) string { return u.With(u.Short(v)) }

func trimmed(number string) string {
	if !strings.Contains(number, ".") {
		return number
	}
	return strings.TrimSuffix(strings.TrimRight(number, "0"), ".")
}

func plus(number string) string {
	if strings.HasPrefix(number, "−") || strings.Trim(number, "0.") == "" {
		return number
	}
	return "+" + number
}

// Units are those of a reader: metric, or yards, miles an hour and inches.
type Units struct{ Imperial bool }

// Word is the name of the units in addresses.
func (u Units) Word() string {
	if u.Imperial {
		return "imperial"
	}
	return "metric"
}

// Pick is the unit for the reader.
func (u Units) Pick(metric, imperial Unit) Unit {
	if u.Imperial {
		return imperial
	}
	return metric
}

// Distance is for carry, offline and what is derived from them, stored in m.
func (u Units) Distance() Unit { return u.Pick(Unit{"m", 1, 1}, Unit{"yd", 1 / unit.Yard, 1}) }

// Speed is for the ball and the club, stored in m/s.
func (u Units) Speed() Unit { return u.Pick(Unit{"m/s", 1, 1}, Unit{"mph", 1 / unit.MPH, 1}) }

// Small is for clubs, places on the face and tees, stored in m.
func (u Units) Small() Unit { return u.Pick(Unit{"mm", 1000, 0}, Unit{"in", 1 / unit.Inch, 2}) }
