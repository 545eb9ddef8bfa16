package sheets

import (
	"math"

	"fairlead/dashboards/figure"
	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/glossary"
	"fairlead/ingest/contract/unit"
	"fairlead/processors/golf/club"
)

// Units say how stored values are written for people.
type Units = figure.Units

// partUnit is the unit of a part of a build at the bench.
func partUnit(u Units, info event.BuildFieldInfo) figure.Unit {
	switch info.Quantity {
	case unit.Length:
		if info.Field == event.BuildField_BUILD_GRIP_SIZE {
			return u.Pick(figure.In("mm", 1000, 1), figure.In("in", 1/club.Inch, 3))
		}
		s := u.Small()
		if !u.Imperial {
			s.Digits = 1
		}
		return s
	case unit.Mass:
		return figure.In("g", 1000, 1)
	case unit.Angle:
		return figure.In("°", 1, 2)
	case unit.Frequency:
		return figure.In("cpm", 1, 0)
	}
	return figure.In("", 1, 2)
}

// specText writes what is known of a part in the bench's units.
func specText(u Units, s *event.Spec, info event.BuildFieldInfo) string {
	switch {
	case s == nil:
		return "unknown"
	case info.Text:
		return s.Text
	case info.Quantity == unit.Moment:
		return club.SwingWeightOf(s.Number).String()
	}
	return partUnit(u, info).Text(s.Number)
}

// si writes a number in the unit that it is stored in.
func si(s *event.Spec, info event.BuildFieldInfo) string {
	if s == nil || info.Text {
		return ""
	}
	digits := map[unit.Quantity]int{unit.Length: 5, unit.Mass: 5, unit.Moment: 5, unit.Angle: 2, unit.Frequency: 1}[info.Quantity]
	name := map[unit.Quantity]string{unit.Length: "m", unit.Mass: "kg", unit.Moment: "kg·m", unit.Angle: "°",
		unit.Frequency: "cpm"}[info.Quantity]
	return figure.In(name, 1, digits).Text(s.Number)
}

// outcomeUnit is the unit of an outcome's change; percent for a tightness.
func outcomeUnit(u Units, name glossary.Name) figure.Unit {
	switch {
	case name.Tightness():
		return figure.In("%", 100, 0)
	case name == glossary.Strike:
		return u.Small()
	case name == glossary.Carry, name == glossary.Offline:
		return u.Distance()
	case name == glossary.Skid:
		return figure.In("%", 100, 0)
	case name == glossary.BallSpeed:
		return u.Speed()
	case name == glossary.Spin:
		return figure.In("rpm", 1, 0)
	}
	return figure.In("°", 1, 1)
}

// linear turns a stored change into one that people read: a tightness is
// stored as a logarithm. What is beyond any meaning is cut, so that it stays a number.
func linear(name glossary.Name, x float64) float64 {
	if name.Tightness() {
		return math.Expm1(math.Min(x, 5))
	}
	return x
}
