package console

import (
	"fmt"
	"html/template"
	"math"
	"strings"

	"fairlead/dashboards/draw"
	"fairlead/dashboards/figure"
	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/glossary"
	"fairlead/processors/visit/rolling"
)

type trialView struct {
	rolling.Trial
	Marker  template.HTML
	Build   []string // what is known, in words
	Changes []changeView
	Unknown string
	Primary []cell
	Carry   []cell // none for putts
	Cells   []cell
	Drift   string
	Face    string
	Left    string // what of it no comparison weighs, and the figures without it
}

type changeView struct{ Label, From, To string }

// cell is one number of a row.
type cell struct {
	Label, Value, Interval string
	NotYet                 bool
}

// statCell writes a statistic with its interval, or how many more shots it needs.
func statCell(label string, sc figure.Unit, st *rolling.Stat) cell {
	c := cell{Label: label}
	switch {
	case st == nil:
		c.Value, c.NotYet = "–", true
	case st.NotYet && st.More > 0:
		c.Value, c.NotYet = fmt.Sprintf("not yet, %d more", st.More), true
	case st.NotYet:
		c.Value, c.NotYet = "not yet", true
	default:
		c.Value, c.Interval = sc.With(sc.Number(st.Value)), sc.Number(st.Low)+" to "+sc.Number(st.High)
	}
	return c
}

// changes tells differences that are known from parts that are known of one
// build only: those may differ or not.
func (s *server) changes(list []rolling.Change) (out []changeView, unknown string) {
	var fromUnknown, toUnknown []string
	for _, c := range list {
		switch {
		case !c.From.Known:
			fromUnknown = append(fromUnknown, strings.ToLower(c.Label)+" "+s.units.value(c.Field, c.To))
		case !c.To.Known:
			toUnknown = append(toUnknown, strings.ToLower(c.Label)+" "+s.units.value(c.Field, c.From))
		default:
			out = append(out, changeView{c.Label, s.units.value(c.Field, c.From), s.units.value(c.Field, c.To)})
		}
	}
	if len(fromUnknown) > 0 {
		unknown = "Known of this one only: " + strings.Join(fromUnknown, ", ") + ". "
	}
	if len(toUnknown) > 0 {
		unknown += "Known of the other only: " + strings.Join(toUnknown, ", ") + "."
	}
	return out, unknown
}

func (s *server) trialView(state *rolling.State, t *rolling.Trial) trialView {
	v := trialView{Trial: *t, Marker: draw.Mark(t.Number)}
	v.Changes, v.Unknown = s.changes(t.Changes)
	for _, p := range t.Build {
		v.Build = append(v.Build, p.Label+" "+s.units.value(p.Field, p.Value))
	}
	for i := range t.Primary {
		p := &t.Primary[i]
		if p.Name == "carry_m" {
			continue // stands in its own column
		}
		v.Primary = append(v.Primary, statCell(glossary.Told(p.Name, false).Cell, s.units.of(p.Name), &p.Stat))
	}
	if state.Session != nil && state.Session.Category != "putter" {
		v.Carry = []cell{statCell("Carry", s.units.Distance(), t.Carry)}
	}
	if t.Compared != nil {
		v.Left = s.comparedWords(t)
	}
	for _, c := range cellColumns(state) {
		m, ok := t.Fields[c.column]
		one := cell{Label: c.label, Value: "–", NotYet: true}
		if sc := s.units.of(c.column); ok {
			one = cell{Label: c.label, Value: sc.With(sc.Number(m.Mean))}
			if m.SD != nil {
				one.Interval = "sd " + sc.Number(*m.SD)
			}
		}
		v.Cells = append(v.Cells, one)
	}
	if t.Drifting {
		for _, r := range t.LastFive {
			if math.Abs(r.T) >= 4.5 {
				sc := s.units.of(r.Column)
				v.Drift = fmt.Sprintf("Last five differ from the shots before: %s %s against %s.", columnLabel(r.Column), sc.With(sc.Number(r.Last)),
					sc.With(sc.Number(r.Before)))
				break
			}
		}
	}
	return v
}

type column struct{ column, label string }

func cellColumns(state *rolling.State) []column {
	if state.Session != nil && state.Session.Category == "putter" {
		return []column{{"ball_speed_mps", "Ball speed"}, {"launch_angle_deg", "Launch"}, {"skid_distance_m", "Skid"}}
	}
	return []column{{"launch_angle_deg", "Launch"}, {"spin_rate_rpm", "Spin"}, {"landing_angle_deg", "Landing"}}
}

func columnLabel(name string) string {
	for _, f := range event.Fields() {
		if f.Column == name {
			return f.Label
		}
	}
	return name
}

// runName is a trial's number, its part where it has several, and its name.
func runName(t *rolling.Trial) string {
	if t.Parts > 1 {
		return fmt.Sprintf("%d.%d %s", t.Number, t.Part, t.Name)
	}
	return fmt.Sprintf("%d %s", t.Number, t.Name)
}

// comparedWords says what of a trial a comparison leaves out, and what its
// figures are without that: those are what the comparison goes by.
func (s *server) comparedWords(t *rolling.Trial) string {
	text := upperFirst(t.Compared.Short())
	var rest []string
	for i := range t.Compared.Primary {
		p := &t.Compared.Primary[i]
		if c := statCell(glossary.Told(p.Name, false).Cell, s.units.of(p.Name), &p.Stat); !c.NotYet {
			rest = append(rest, strings.ToLower(c.Label)+" "+c.Value)
		}
	}
	if len(rest) > 0 {
		text += ": " + strings.Join(rest, ", ")
	}
	return text + "."
}
