package console

import (
	"math"
	"strings"

	"fairlead/dashboards/figure"
	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/glossary"
	"fairlead/ingest/contract/unit"
	"fairlead/processors/golf/club"
	"fairlead/processors/visit"
	"fairlead/processors/visit/rolling"
)

// units say how stored values are shown: metric, or yards, mph and inches.
type units struct{ figure.Units }

func unitsFor(imperial bool) units { return units{figure.Units{Imperial: imperial}} }

// of finds the unit of a column by its ending.
func (u units) of(column string) figure.Unit {
	switch {
	case strings.HasPrefix(column, "strike"), strings.HasPrefix(column, "tee_height"):
		return u.Small()
	case strings.HasPrefix(column, "skid"):
		return u.Pick(figure.In("cm", 100, 0), figure.In("ft", 1/0.3048, 1))
	case strings.HasSuffix(column, "_mps"):
		return u.Speed()
	case strings.HasSuffix(column, "_deg"):
		return figure.In("°", 1, 1)
	case strings.HasSuffix(column, "_rpm"):
		return figure.In("rpm", 1, 0)
	case strings.HasSuffix(column, "_pct"):
		return figure.In("%", 1, 1)
	case strings.HasSuffix(column, "_s"):
		return figure.In("s", 1, 2)
	case strings.HasSuffix(column, "_m"):
		return u.Distance()
	}
	return figure.In("", 1, 2)
}

// spec is the unit for people of a part of a build.
func (u units) spec(q unit.Quantity) figure.Unit {
	switch q {
	case unit.Length:
		return u.Small()
	case unit.Mass:
		return figure.In("g", 1000, 0)
	case unit.Angle:
		return figure.In("°", 1, 1)
	case unit.Frequency:
		return figure.In("cpm", 1, 0)
	case unit.Moment:
		return figure.In("in·oz", 1/(unit.Inch*unit.Ounce), 1)
	}
	return figure.In("", 1, 1)
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
	return s.Text(v.Number)
}

// change writes the change of an outcome and its interval: means in their
// units, tightness in percent.
func (u units) change(w rolling.Weighed) (change, interval string) {
	s := u.outcome(w)
	if glossary.Name(w.Name).Tightness() {
		at := func(x float64) string { return s.Signed(math.Expm1(x)) }
		return s.With(at(w.Change)), at(w.Low) + " to " + at(w.High)
	}
	if glossary.Name(w.Name).Sided() {
		// A sign would have to be explained; a side is seen.
		at := func(x float64) string {
			return s.With(s.Number(math.Abs(x))) + map[bool]string{true: " left", false: " right"}[x < 0]
		}
		return at(w.Change), at(w.Low) + " to " + at(w.High)
	}
	return s.With(s.Signed(w.Change)), s.Signed(w.Low) + " to " + s.Signed(w.High)
}

// fromTo writes what an outcome is of the shots that are weighed, with the one
// club and the other; as the trials' rows tell it, where nothing is left out.
func (u units) fromTo(w rolling.Weighed) string {
	name := glossary.Name(w.Name)
	s := u.outcome(w)
	switch {
	case name == glossary.Area:
		return "" // percent times degrees says nothing to anybody
	case name == glossary.Direction:
		s = figure.In("°", 1, 1)
	case name.Tightness():
		s = figure.In("%", 1, 1)
	case name.Sided():
		return sided(s, w.From) + " → " + sided(s, w.To)
	}
	return s.Number(w.From) + " → " + s.With(s.Number(w.To))
}

// outcome is the unit of an outcome's change; percent for a tightness.
func (u units) outcome(w rolling.Weighed) figure.Unit {
	switch {
	case glossary.Name(w.Name).Tightness():
		return figure.In("%", 100, 0)
	case w.Name == string(glossary.Strike):
		return u.Small()
	}
	return map[string]figure.Unit{"deg": figure.In("°", 1, 1), "rpm": figure.In("rpm", 1, 0), "m/s": u.Speed(), "m": u.Distance(),
		"ratio": figure.In("%", 100, 0)}[w.Unit]
}

// prior writes the mean and the standard deviation of what was believed before
// the shots, the first with its unit.
func (u units) prior(w rolling.Weighed) (mean, sd string) {
	s := u.outcome(w)
	if glossary.Name(w.Name).Tightness() {
		at := min(w.Prior.Mean, 20)
		return s.With(s.Signed(math.Expm1(at))), s.Number(math.Exp(at) * w.Prior.SD)
	}
	return s.With(s.Signed(w.Prior.Mean)), s.Number(w.Prior.SD)
}

// setting says where and with what is hit, part by part.
func (u units) setting(s visit.Setting, category string) (out []string) {
	for _, text := range []string{s.Place, s.Surface, s.BallModel} {
		if text != "" {
			out = append(out, text)
		}
	}
	if s.BallClass != "" {
		out = append(out, s.BallClass+" ball")
	}
	add := func(n visit.Number, before string, unit figure.Unit, after string) {
		if n.Known {
			out = append(out, strings.TrimSpace(before+" "+unit.Text(n.Value)+" "+after))
		}
	}
	add(s.TeeHeight, "tee", u.Small(), "high")
	distance := u.Distance()
	switch {
	case category == "putter":
		distance = u.green()
	case s.TargetDistance.Value < 20:
		distance.Digits = 1
	}
	add(s.TargetDistance, "target", distance, "away")
	if s.TargetBearing.Value != 0 {
		add(s.TargetBearing, "aim", figure.In("°", 1, 1), "of the device's line")
	}
	add(s.GreenSpeed, "green speed", u.green(), "")
	add(s.WindSpeed, "wind", u.Speed(), "")
	if s.WindSpeed.Value > 0 {
		add(s.WindToward, "toward", figure.In("°", 1, 0), "of down-range")
	}
	return out
}

// entered is the unit of a setting's field, in which a bare number is meant.
func (u units) entered(field string, q unit.Quantity) string {
	switch {
	case field == "tee_height":
		return u.Small().Name
	case field == "green_speed":
		return u.green().Name
	case q == unit.Length:
		return u.Distance().Name
	case q == unit.Speed:
		return u.Speed().Name
	}
	return ""
}

// green is the unit of a green's speed: how far a ball rolls off the ramp.
func (u units) green() figure.Unit {
	return u.Pick(figure.In("m", 1, 1), figure.In("ft", 1/unit.Foot, 1))
}

// such is an example of what may be written into a field, in the studio's units.
func (u units) such(field string) string {
	of := map[string][2]string{"partial": {"55 m", "60 yd"}, "tee": {"40 mm", "1 1/2 in"}, "target": {"140 m", "150 yd"},
		"green": {"3 m", "10 ft"}, "wind": {"3 m/s", "7 mph"}}[field]
	if u.Imperial {
		return of[1]
	}
	return of[0]
}

// Written writes a distance with its unit.
func (u units) Written(m float64) string { d := u.Distance(); return d.With(d.Number(m)) }

// Round writes a distance without decimals.
func (u units) Round(m float64) string {
	d := u.Distance()
	d.Digits = 0
	return d.With(d.Number(m))
}
