package sheets

import (
	"fmt"

	"fairlead/processors/visit/rolling"
)

// sure says how sure one may be of a session, and why.
func sure(state *rolling.State, p *Session) []string {
	out := []string{fmt.Sprintf("%s counted, %s left out by the fitter.", plural(p.Shots, "shot", "shots"),
		map[bool]string{true: plural(p.LeftOut, "was", "were"), false: "none was"}[p.LeftOut > 0])}
	for _, shot := range state.Shots {
		if shot.Status == "excluded" && shot.Reason != "" {
			out = append(out, fmt.Sprintf("Shot %d was left out: “%s”.", shot.Number, shot.Reason))
		}
	}
	out = append(out, "“Better” and “worse” are said only where chance alone would bring it about in fewer than 5 of 100 sessions, however "+
		"often one looks. That holds for each outcome by itself: of many clubs and outcomes one may look good by luck.")
	fleet := false
	for _, c := range state.Comparisons {
		for _, o := range c.Outcomes {
			fleet = fleet || o.Prior.Fleet()
		}
	}
	if fleet {
		out = append(out, "Before the first shot, other players' shots with such a change were taken into account. They move the odds and the "+
			"best guess; they can't make “better” or “worse” by themselves.")
	} else {
		out = append(out, "Nothing but this session's shots speaks here, and the belief from the outset that most changes of a club do little.")
	}
	if p.Category != "putter" {
		out = append(out, "How far the ball rolls out is not judged. Another ball, ground, wind or day may change the numbers; differences "+
			"between clubs last better than the numbers themselves.")
	}
	few := 0
	for _, t := range p.Tried {
		if t.Shots > 0 && t.Shots < 10 {
			few++
		}
	}
	if few > 0 {
		out = append(out, fmt.Sprintf("%s hit fewer than ten times: even ten shots show a spread that was halved only one time in four.",
			plural(few, "club was", "clubs were")))
	}
	return out
}
