package sheets

import (
	"math"
	"strings"

	"fairlead/dashboards/figure"
	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/glossary"
	"fairlead/ingest/contract/unit"
	"fairlead/processors/golf/club"
)

// stations group a build as it goes over the bench.
var stations = []struct {
	name   string
	fields []event.BuildField
}{
	{"Head", []event.BuildField{
		event.BuildField_BUILD_HEAD_MODEL, event.BuildField_BUILD_STATED_LOFT, event.BuildField_BUILD_LOFT, event.BuildField_BUILD_FACE_ANGLE,
		event.BuildField_BUILD_BOUNCE,
		event.BuildField_BUILD_SOLE, event.BuildField_BUILD_HEAD_WEIGHT, event.BuildField_BUILD_MOVABLE_WEIGHTS,
		event.BuildField_BUILD_HOSEL_SETTING,
		event.BuildField_BUILD_PUTTER_HOSEL, event.BuildField_BUILD_TOE_HANG, event.BuildField_BUILD_ALIGNMENT,
		event.BuildField_BUILD_FACE_WEAR}},
	{"Shaft", []event.BuildField{
		event.BuildField_BUILD_SHAFT_MODEL, event.BuildField_BUILD_SHAFT_MATERIAL, event.BuildField_BUILD_SHAFT_WEIGHT,
		event.BuildField_BUILD_FLEX, event.BuildField_BUILD_FREQUENCY,
		event.BuildField_BUILD_TORQUE, event.BuildField_BUILD_BALANCE_POINT, event.BuildField_BUILD_TIP_TRIM, event.BuildField_BUILD_BUTT_TRIM}},
	{"Length and lie", []event.BuildField{event.BuildField_BUILD_LENGTH, event.BuildField_BUILD_LENGTH_METHOD, event.BuildField_BUILD_LIE}},
	{"Grip", []event.BuildField{
		event.BuildField_BUILD_GRIP_MODEL, event.BuildField_BUILD_GRIP_FORM, event.BuildField_BUILD_GRIP_SIZE, event.BuildField_BUILD_GRIP_WEIGHT,
		event.BuildField_BUILD_GRIP_WRAPS}},
	{"Finished club", []event.BuildField{event.BuildField_BUILD_SWING_WEIGHT, event.BuildField_BUILD_TOTAL_WEIGHT,
		event.BuildField_BUILD_FINISH}},
}

// applies says whether a kind of club has a part; one that was entered all the
// same is shown.
func applies(c glossary.Category, f event.BuildField) bool {
	switch f {
	case event.BuildField_BUILD_TOE_HANG, event.BuildField_BUILD_PUTTER_HOSEL, event.BuildField_BUILD_ALIGNMENT,
		event.BuildField_BUILD_GRIP_FORM:
		return c == glossary.Putter
	case event.BuildField_BUILD_BOUNCE, event.BuildField_BUILD_SOLE:
		return c == glossary.Iron || c == glossary.Wedge
	case event.BuildField_BUILD_HOSEL_SETTING, event.BuildField_BUILD_MOVABLE_WEIGHTS:
		return c == glossary.Driver || c == glossary.Wood || c == glossary.Hybrid
	case event.BuildField_BUILD_FACE_WEAR:
		return false // of a used club only
	case event.BuildField_BUILD_SWING_WEIGHT, event.BuildField_BUILD_FACE_ANGLE:
		return c != glossary.Putter // its head weight says it
	case event.BuildField_BUILD_FLEX, event.BuildField_BUILD_FREQUENCY, event.BuildField_BUILD_TORQUE, event.BuildField_BUILD_TIP_TRIM:
		return c != glossary.Putter
	}
	return true
}

// needed are the parts without which a shop can't build what was hit.
func needed(c glossary.Category) map[string]bool {
	out := map[string]bool{"head_model": true, "loft": true, "lie": true, "length": true, "length_method": true, "grip_model": true}
	if c == glossary.Putter {
		out["head_weight"] = true
	} else {
		out["shaft_model"], out["flex"], out["swing_weight"] = true, true, true
	}
	return out
}

// tolerated are the parts that a finished club is measured by.
var tolerated = map[event.BuildField]club.Spec{
	event.BuildField_BUILD_LOFT: club.SpecLoft, event.BuildField_BUILD_LIE: club.SpecLie,
	event.BuildField_BUILD_FACE_ANGLE: club.SpecFaceAngle,
	event.BuildField_BUILD_LENGTH:     club.SpecLength, event.BuildField_BUILD_SWING_WEIGHT: club.SpecSwingWeight,
	event.BuildField_BUILD_TOTAL_WEIGHT: club.SpecMass,
	event.BuildField_BUILD_HEAD_WEIGHT:  club.SpecHeadMass, event.BuildField_BUILD_GRIP_WEIGHT: club.SpecGripMass,
	event.BuildField_BUILD_FREQUENCY: club.SpecFrequency,
}

// Listed are the parts that get a row: those that are known, needed, known of
// the other club, or measured on the finished one.
func (g Group) Listed() (out []Part) {
	for _, p := range g.Parts {
		if p.listed() {
			out = append(out, p)
		}
	}
	return out
}

// Rest are the names of the other parts, which nobody knows.
func (g Group) Rest() (out []string) {
	for _, p := range g.Parts {
		if !p.listed() {
			out = append(out, strings.ToLower(p.Label))
		}
	}
	return out
}

func (p Part) listed() bool {
	return p.Knowledge != "unknown" || p.Settle || p.Measure || p.Note != "" || p.Built != ""
}

func groups(category glossary.Category, build, base *event.Build, u Units) []Group {
	var out []Group
	need := needed(category)
	for _, st := range stations {
		g := Group{Name: st.name}
		for _, f := range st.fields {
			info, _ := f.Info()
			x, y := build.Spec(f), base.Spec(f)
			if x == nil && !applies(category, f) {
				continue
			}
			one := part(info, x, y, base, u)
			one.Settle = x == nil && need[info.Name]
			g.Parts = append(g.Parts, one)
		}
		out = append(out, g)
	}
	return out
}

func part(info event.BuildFieldInfo, x, y *event.Spec, base *event.Build, u Units) Part {
	p := Part{Field: info.Name, Label: info.Label, Value: specText(u, x, info), SI: si(x, info), Knowledge: "unknown",
		Against: specText(u, y, info)}
	if p.SI == p.Value {
		p.SI = ""
	}
	if x != nil {
		p.Knowledge = "stated"
		if x.Knowledge == event.Knowledge_KNOWLEDGE_MEASURED {
			p.Knowledge = "measured"
		}
		if !info.Text {
			n := x.Number
			p.Number, p.Unit = &n, unit.Stored(info.Quantity)
		}
	}
	p.compare(info, x, y, base, u)
	if spec, ok := tolerated[info.Field]; ok {
		p.Measure = true
		if x != nil {
			p.allow(info, x.Number, club.DefaultTolerances()[spec], u)
		}
	}
	return p
}

// compare says in words how a part stands to the other club's.
func (p *Part) compare(info event.BuildFieldInfo, x, y *event.Spec, base *event.Build, u Units) {
	other := "the other club"
	if base.GetGamer() {
		other = "own club"
	}
	switch {
	case base == nil:
		p.Against, p.Differs = "", ""
	case x == nil:
		p.Differs, p.Note = "open", ""
		if y != nil {
			p.Note = other + ": " + specText(u, y, info)
		}
	case y == nil:
		p.Differs, p.Note = "new", other+": unknown"
	case same(x, y):
		p.Differs, p.Note = "same", "same as "+other
	default:
		p.Differs, p.Note = "changed", "CHANGED, "+other+": "+specText(u, y, info)
		switch {
		case info.Text:
		case info.Quantity == unit.Moment:
			points := figure.In("", 1, 1)
			p.Note += " (" + points.SignedShort(float64(club.SwingWeightOf(x.Number)-club.SwingWeightOf(y.Number))) + " points)"
		default:
			s := partUnit(u, info)
			p.Note += " (" + s.With(s.SignedShort(x.Number-y.Number)) + ")"
		}
	}
}

// allow fills in how far the finished club may be from a figure.
func (p *Part) allow(info event.BuildFieldInfo, wanted, tolerance float64, u Units) {
	p.Plus, p.PlusUnit = &tolerance, unit.Stored(info.Quantity)
	if info.Quantity == unit.Moment {
		points := figure.In("points", 1, 1)
		p.PlusUnit = "points"
		p.Tolerance = "± " + points.Text(tolerance)
		w := club.SwingWeightOf(wanted)
		p.From, p.To = (w - club.SwingWeight(tolerance)).String(), (w + club.SwingWeight(tolerance)).String()
		return
	}
	s := partUnit(u, info)
	if info.Quantity == unit.Length && u.Imperial {
		s.Digits = 3 // a sixteenth of an inch
	}
	p.Tolerance = "± " + s.Text(tolerance)
	if info.Quantity == unit.Length && u.Imperial && math.Abs(tolerance-club.Inch/16) < 1e-9 {
		p.Tolerance = "± 1/16\u00a0in" // as rulers say it
	}
	// What is printed must not let more pass than the tolerance: round inwards.
	step := math.Pow(10, -float64(s.Digits)) / s.Factor
	p.From, p.To = s.Text(math.Ceil((wanted-tolerance)/step-1e-6)*step), s.Text(math.Floor((wanted+tolerance)/step+1e-6)*step)
}
