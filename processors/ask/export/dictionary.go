package export

import (
	"strings"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/unit"
)

// Column is an entry of the data dictionary.
type Column struct {
	Table   string `json:"table"`
	Name    string `json:"column"`
	Unit    string `json:"unit"`   // empty: no quantity
	Sign    string `json:"sign"`   // what positive means; empty: no direction
	Origin  string `json:"origin"` // who says so
	Meaning string `json:"meaning"`
}

const right = "positive right of target"

// signs of the fields that can be negative and are no left or right.
var signs = map[event.Field]string{
	event.Field_FIELD_ATTACK_ANGLE:    "positive: the clubhead rises",
	event.Field_FIELD_DYNAMIC_LOFT:    "positive: the face looks up",
	event.Field_FIELD_SPIN_LOFT:       "positive: the face looks above the club's direction",
	event.Field_FIELD_LAUNCH_ANGLE:    "positive up",
	event.Field_FIELD_BACK_SPIN:       "positive back",
	event.Field_FIELD_STRIKE_X:        "positive toward the toe",
	event.Field_FIELD_STRIKE_Y:        "positive up the face",
	event.Field_FIELD_DYNAMIC_LIE:     "positive upright, toe up",
	event.Field_FIELD_CLOSURE_RATE:    "positive: the face closes",
	event.Field_FIELD_LOW_POINT:       "positive ahead of the ball",
	event.Field_FIELD_FORWARD_ROLL:    "positive forward",
	event.Field_FIELD_STROKE_ROTATION: "as the device counts it",
	event.Field_FIELD_STROKE_ARC:      "as the device counts it",
	event.Field_FIELD_AIR_TEMPERATURE: "",
}

func signOf(f event.FieldInfo) string {
	if f.Mirrors {
		return right
	}
	return signs[f.Field]
}

func unitOf(q unit.Quantity) string {
	if q == unit.Ratio {
		return "ratio"
	}
	return unit.Stored(q)
}

// suffixes of names that are made from a field's, and what they add to it.
var suffixes = []struct{ stem, unit, meaning string }{
	{"_mean", "", "mean of the trial's shots that count: "},
	{"_sd", "", "standard deviation over the trial's shots that count, divisor n−1: "},
	{"_n", "shots", "shots that count and have a value: "},
}

// describe finds a column in the contract's tables of fields and parts of a
// build, or among the words of this package. ok is false for a column that
// nobody described.
func describe(table, name string) (c Column, ok bool) {
	c = Column{Table: table, Name: name}
	if w, known := words[name]; known {
		c.Unit, c.Sign, c.Origin, c.Meaning = w.unit, w.sign, w.origin, w.meaning
		return c, true
	}
	if rest, is := strings.CutPrefix(name, "build_"); is {
		for _, b := range event.BuildFields() {
			if b.Column == rest {
				c.Origin, c.Meaning = "fitter: stated or measured", b.Label+" of the build under test; empty where unknown"
				if !b.Text {
					c.Unit = unitOf(b.Quantity)
				}
				if b.Min < 0 {
					c.Sign = buildSigns[b.Name]
				}
				return c, true
			}
		}
	}
	if rest, is := strings.CutPrefix(name, "handed_"); is {
		if inner, known := describe(table, rest); known {
			inner.Name, inner.Sign = name, "positive right of target for a right-hander, left of it for a left-hander"
			inner.Meaning += "; mirrored for left-handers, empty where the hand is unknown"
			return inner, true
		}
	}
	for _, f := range event.Fields() {
		if f.Column == name {
			c.Unit, c.Sign, c.Origin, c.Meaning = unitOf(f.Quantity), signOf(f), "device: measured or computed, see the columns …_from", f.Label
			return c, true
		}
		if name == f.Name+"_from" || f.Field == event.Field_FIELD_STRIKE_X && name == "strike_from" {
			c.Origin, c.Meaning = "device's map", "who gave "+f.Label+
				": measured or device (computed by it), ours (computed by Fairlead), unstated, or empty where there is no value"
			return c, true
		}
		tail := strings.TrimPrefix(f.Column, f.Name)
		for _, s := range suffixes {
			if name != f.Name+s.stem+tail && !(s.unit != "" && name == f.Name+s.stem) {
				continue
			}
			c.Unit, c.Origin, c.Meaning = unitOf(f.Quantity), "Fairlead", s.meaning+f.Label
			if s.unit != "" {
				c.Unit = s.unit
			} else if s.stem == "_mean" {
				c.Sign = signOf(f)
			}
			return c, true
		}
	}
	return c, false
}

var buildSigns = map[string]string{
	"loft": "positive: the face looks up", "face_angle": "positive open at address, for either hand", "bounce": "as the maker counts it",
	"toe_hang": "0: the face looks up when balanced",
}
