package sheets

import (
	"html/template"

	"fairlead/dashboards/draw"
	"fairlead/processors/visit/rolling"
)

// Drawing is one figure of a report.
type Drawing struct {
	Caption string
	SVG     template.HTML
}

// drawings show what the own and the chosen club did, the own one first and
// hollow; and the session in its order. None where either was not hit: full and
// partial swings have figures of their own.
func drawings(state *rolling.State, chosen int, u Units) (out []Drawing) {
	base := 0
	for _, t := range state.Trials {
		if t.Key == state.Incumbent {
			base = t.Club
		}
	}
	landed := "Where the shots went, seen from above, one scale both ways"
	if state.Session.Category == "putter" {
		landed = "Start line and speed of the putts"
	}
	for _, set := range []struct {
		session *draw.Session
		of      string
	}{{draw.Full(state, u), ""}, {draw.Partial(state, u), ", partial swings"}} {
		two := set.session.Clubs(base, chosen)
		if base == 0 || chosen == 0 || two.Series() < 2 {
			continue
		}
		for _, f := range []struct {
			draw    func() *draw.Picture
			caption string
		}{{two.Landed, landed}, {two.Curve, "Start line and curve, seen from above"}, {two.Side, "Flight from the side"},
			{two.Strike, "Strike on the face"},
			{two.Impact, "Path and face at impact"}, {set.session.Timeline, "The session in order"}} {
			if p := f.draw(); p != nil {
				out = append(out, Drawing{f.caption + set.of, p.Inline()})
			}
		}
	}
	return out
}
