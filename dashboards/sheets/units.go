package sheets

import (
	"fmt"
	"math"
	"strings"

	"fairlead/ingest/event"
	"fairlead/ingest/unit"
	"fairlead/processors/club"
	"fairlead/processors/evidence"
)

// Units say how stored values are written for people.
type Units struct{ Imperial bool }

// Word is the name of the units in addresses.
func (u Units) Word() string {
	if u.Imperial {
		return "imperial"
	}
	return "metric"
}

// scale is a unit: stored value times factor, with so many digits.
type scale struct {
	unit   string
	factor float64
	digits int
}

func (u Units) pick(metric, imperial scale) scale {
	if u.Imperial {
		return imperial
	}
	return metric
}

func (u Units) distance() scale {
	return u.pick(scale{"m", 1, 1}, scale{"yd", 1 / 0.9144, 1})
}

func (u Units) speed() scale {
	return u.pick(scale{"m/s", 1, 1}, scale{"mph", 3600 / 1609.344, 1})
}

func (u Units) length() scale { return u.pick(scale{"mm", 1000, 0}, scale{"in", 1 / club.Inch, 2}) }

// number writes a value without its unit; a minus is a real one, and zero has none.
func (s scale) number(v float64) string {
	v *= s.factor
	if math.Abs(v) < 0.5*math.Pow(10, -float64(s.digits)) {
		v = 0
	}
	return strings.Replace(fmt.Sprintf("%.*f", s.digits, v), "-", "−", 1)
}

// short is number without zeros behind the point.
func (s scale) short(v float64) string {
	text := s.number(v)
	if strings.Contains(text, ".") {
		text = strings.TrimSuffix(strings.TrimRight(text, "0"), ".")
	}
	return text
}

// signed is short with a plus.
func (s scale) signed(v float64) string {
	text := s.short(v)
	if !strings.HasPrefix(text, "−") && text != "0" {
		return "+" + text
	}
	return text
}

// with puts the unit behind a number; a no-break space keeps them together.
func (s scale) with(number string) string {
	if s.unit == "" || s.unit == "°" || s.unit == "%" {
		return number + strings.Replace(s.unit, "%", "\u00a0%", 1)
	}
	return number + "\u00a0" + s.unit
}

func (s scale) text(v float64) string { return s.with(s.short(v)) }

// part is the unit of a part of a build at the bench.
func (u Units) part(info event.BuildFieldInfo) scale {
	switch info.Quantity {
	case unit.Length:
		if info.Field == event.BuildField_BUILD_GRIP_SIZE {
			return u.pick(scale{"mm", 1000, 1}, scale{"in", 1 / club.Inch, 3})
		}
		s := u.length()
		if !u.Imperial {
			s.digits = 1
		}
		return s
	case unit.Mass:
		return scale{"g", 1000, 1}
	case unit.Angle:
		return scale{"°", 1, 2}
	case unit.Frequency:
		return scale{"cpm", 1, 0}
	}
	return scale{"", 1, 2}
}

// spec writes what is known of a part in the bench's units.
func (u Units) spec(s *event.Spec, info event.BuildFieldInfo) string {
	switch {
	case s == nil:
		return "unknown"
	case info.Text:
		return s.Text
	case info.Quantity == unit.Moment:
		return club.SwingWeightOf(s.Number).String()
	}
	return u.part(info).text(s.Number)
}

// si writes a number in the unit that it is stored in.
func si(s *event.Spec, info event.BuildFieldInfo) string {
	if s == nil || info.Text {
		return ""
	}
	digits := map[unit.Quantity]int{unit.Length: 5, unit.Mass: 5, unit.Moment: 5, unit.Angle: 2, unit.Frequency: 1}[info.Quantity]
	name := map[unit.Quantity]string{unit.Length: "m", unit.Mass: "kg", unit.Moment: "kg·m", unit.Angle: "°", unit.Frequency: "cpm"}[info.Quantity]
	return scale{name, 1, digits}.text(s.Number)
}

// outcome is the unit of an outcome's change; percent for a tightness.
func (u Units) outcome(name evidence.Name) scale {
	switch {
	case name.Tightness():
		return scale{"%", 100, 0}
	case name == evidence.Strike:
		return u.pick(scale{"mm", 1000, 0}, scale{"in", 1 / club.Inch, 2})
	case name == evidence.Carry:
		return u.distance()
	case name == evidence.BallSpeed:
		return u.speed()
	case name == evidence.Spin:
		return scale{"rpm", 1, 0}
	}
	return scale{"°", 1, 1}
}

// linear turns a stored change into one that people read: a tightness is
// stored as a logarithm. What is beyond any meaning is cut, so that it stays a number.
func linear(name evidence.Name, x float64) float64 {
	if name.Tightness() {
		return math.Expm1(math.Min(x, 5))
	}
	return x
}
