package console

import (
	"fmt"
	"math"
	"strings"

	"fairlead/ingest/event"
	"fairlead/ingest/unit"
	"fairlead/processors/club"
	"fairlead/processors/evidence"
	"fairlead/processors/rolling"
)

// units say how stored values are shown: metric, or yards, mph and inches.
type units struct{ imperial bool }

func unitsFor(imperial bool) units { return units{imperial} }

// scaled is a unit for people: value times factor, with so many digits.
type scaled struct {
	name   string
	factor float64
	digits int
}

const (
	perYard = 1 / 0.9144
	perInch = 1 / 0.0254
	perMph  = 3600 / 1609.344
)

func (u units) pick(metric, imperial scaled) scaled {
	if u.imperial {
		return imperial
	}
	return metric
}

// distance is for carry, offline and what is derived from them.
func (u units) distance() scaled { return u.pick(scaled{"m", 1, 1}, scaled{"yd", perYard, 1}) }

func (u units) speed() scaled { return u.pick(scaled{"m/s", 1, 1}, scaled{"mph", perMph, 1}) }

// small is for places on the face and tees.
func (u units) small() scaled { return u.pick(scaled{"mm", 1000, 0}, scaled{"in", perInch, 2}) }

// clubLength is for the length of a club and what is cut from it.
func (u units) clubLength() scaled { return u.pick(scaled{"mm", 1000, 0}, scaled{"in", perInch, 2}) }

// of finds the unit of a column by its ending.
func (u units) of(column string) scaled {
	switch {
	case strings.HasPrefix(column, "strike"), strings.HasPrefix(column, "tee_height"):
		return u.small()
	case strings.HasSuffix(column, "_mps"):
		return u.speed()
	case strings.HasSuffix(column, "_deg"):
		return scaled{"°", 1, 1}
	case strings.HasSuffix(column, "_rpm"):
		return scaled{"rpm", 1, 0}
	case strings.HasSuffix(column, "_pct"):
		return scaled{"%", 1, 1}
	case strings.HasSuffix(column, "_s"):
		return scaled{"s", 1, 2}
	case strings.HasSuffix(column, "_m"):
		return u.distance()
	}
	return scaled{"", 1, 2}
}

// format writes a stored value without its unit; a minus is a real one.
func (s scaled) format(v float64) string {
	v *= s.factor
	if math.Abs(v) < 0.5*math.Pow(10, -float64(s.digits)) {
		v = 0 // no minus zero
	}
	return strings.Replace(fmt.Sprintf("%.*f", s.digits, v), "-", "−", 1)
}

// signed is format with a plus.
func (s scaled) signed(v float64) string {
	text := s.format(v)
	if !strings.HasPrefix(text, "−") && strings.Trim(text, "0.") != "" {
		return "+" + text
	}
	return text
}

// with adds the unit to a number.
func (s scaled) with(number string) string {
	if s.name == "" || s.name == "°" {
		return number + s.name
	}
	return number + " " + s.name // narrow and fixed: a number stays with its unit
}

// specUnits are the units for people of the parts of a build.
func (u units) spec(q unit.Quantity) scaled {
	switch q {
	case unit.Length:
		return u.clubLength()
	case unit.Mass:
		return scaled{"g", 1000, 0}
	case unit.Angle:
		return scaled{"°", 1, 1}
	case unit.Frequency:
		return scaled{"cpm", 1, 0}
	case unit.Moment:
		return scaled{"in·oz", 1 / (0.0254 * 0.028349523125), 1}
	}
	return scaled{"", 1, 1}
}

// value writes what is known of a part of a build.
func (u units) value(field string, v rolling.Value) string {
	if !v.Known {
		return "unknown"
	}
	if v.Text != "" {
		return v.Text
	}
	info, _ := event.BuildFieldNamed(field)
	if info.Quantity == unit.Moment {
		return club.SwingWeightOf(v.Number).String()
	}
	s := u.spec(info.Quantity)
	return s.with(trimmed(s.format(v.Number)))
}

// trimmed drops zeros behind the decimal point: 31.0 is 31.
func trimmed(number string) string {
	if !strings.Contains(number, ".") {
		return number
	}
	return strings.TrimSuffix(strings.TrimRight(number, "0"), ".")
}

// outcomeWord is what people call an outcome.
func outcomeWord(name string) string {
	switch name {
	case "direction_sd_deg", "direction":
		return "Direction scatter"
	case "carry_sd_pct", "distance_control":
		return "Carry scatter"
	case "start_sd_deg":
		return "Start line scatter"
	case "speed_sd_pct":
		return "Speed scatter"
	case "carry_m", "carry":
		return "Carry"
	case "area":
		return "Area"
	case "launch":
		return "Launch"
	case "spin":
		return "Spin"
	case "ball_speed":
		return "Ball speed"
	case "landing":
		return "Landing angle"
	case "strike":
		return "Strike off centre"
	}
	return name
}

// change writes the change of an outcome and its interval: means in their
// units, tightness in percent.
func (u units) change(w rolling.Weighed) (change, interval string) {
	s := u.outcome(w)
	if evidence.Name(w.Name).Tightness() {
		at := func(x float64) string { return s.signed(math.Expm1(x)) }
		return s.with(at(w.Change)), at(w.Low) + " to " + at(w.High)
	}
	return s.with(s.signed(w.Change)), s.signed(w.Low) + " to " + s.signed(w.High)
}

// outcome is the unit of an outcome's change; percent for a tightness.
func (u units) outcome(w rolling.Weighed) scaled {
	switch {
	case evidence.Name(w.Name).Tightness():
		return scaled{"%", 100, 0}
	case w.Name == string(evidence.Strike):
		return u.small()
	}
	return map[string]scaled{"deg": {"°", 1, 1}, "rpm": {"rpm", 1, 0}, "m/s": u.speed(), "m": u.distance()}[w.Unit]
}

// prior writes the mean and the standard deviation of what was believed before
// the shots, the first with its unit.
func (u units) prior(w rolling.Weighed) (mean, sd string) {
	s := u.outcome(w)
	if evidence.Name(w.Name).Tightness() {
		at := min(w.Prior.Mean, 20)
		return s.with(s.signed(math.Expm1(at))), s.format(math.Exp(at) * w.Prior.SD)
	}
	return s.with(s.signed(w.Prior.Mean)), s.format(w.Prior.SD)
}

// Distance writes a distance with its unit.
func (u units) Distance(m float64) string { d := u.distance(); return d.with(d.format(m)) }

// Round writes a distance without decimals.
func (u units) Round(m float64) string {
	d := u.distance()
	d.digits = 0
	return d.with(d.format(m))
}
