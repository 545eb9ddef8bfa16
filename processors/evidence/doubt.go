package evidence

import (
	"fmt"
	"slices"

	"fairlead/processors/dispersion"
)

// doubts lists, in words, what makes the statements less sure than they look:
// an unknown order, an instruction, shots that do not look like the others,
// and what would be decided otherwise without those.
func doubts(category dispersion.Category, shots []placed, r Report, options Options) []string {
	var out []string
	if r.Order.Confounded {
		out = append(out, "club and swing changed together: an instruction was given between the trials; hit the incumbent again before judging the club")
	}
	if !r.Order.Known && len(shots) > 0 {
		out = append(out, "the order of the shots is not known: warm-up, carry-over after a swap and drift cannot be told from the club")
	}
	odd := map[int]bool{}
	for _, side := range []bool{false, true} {
		var index []int
		var points []dispersion.Shot
		for i, s := range shots {
			if at, ok := carryOffline.point(s); ok && s.candidate == side {
				index = append(index, i)
				points = append(points, dispersion.Shot{Carry: at[0], Offline: at[1]})
			}
		}
		for _, s := range dispersion.FindSuspects(points) {
			odd[index[s.Index]] = true
		}
	}
	if len(odd) == 0 {
		return out
	}
	var kept []placed
	for i, s := range shots {
		if !odd[i] {
			kept = append(kept, s)
		}
	}
	out = append(out, fmt.Sprintf("%d shots do not look like the others (mishits or misreads); they are in, and make verdicts on tightness less sure", len(odd)))
	without := Report{Outcomes: outcomes(category, kept, r.Order, options)}
	for _, o := range r.Outcomes {
		other, _ := without.Outcome(o.Name)
		if other.Verdict != o.Verdict && !slices.Contains([]bool{o.NotYet, other.NotYet}, true) {
			out = append(out, fmt.Sprintf("without them, %s would read %q instead of %q", o.Name, other.Verdict, o.Verdict))
		}
	}
	return out
}
