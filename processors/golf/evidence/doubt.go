package evidence

import (
	"fmt"

	"fairlead/ingest/contract/glossary"
	"fairlead/processors/golf/dispersion"
)

// withoutOdd returns the shots less those that do not look like the others of
// their club (mishits, misreads).
func withoutOdd(shots []placed) []placed {
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
		return shots
	}
	var kept []placed
	for i, s := range shots {
		if !odd[i] {
			kept = append(kept, s)
		}
	}
	return kept
}

// rests says whether a verdict of better or worse on tightness falls once the
// odd shots are left out. A mishit or two can halve or double a spread: the
// e-value's promise holds for normal shots, and with one mishit in ten it
// would err on area in one session of eight. Such a verdict is withheld.
func rests(verdict, without Verdict, n glossary.Name) bool {
	return n.Tightness() && (verdict == Better || verdict == Worse) && without != verdict
}

// hedge withholds what rests on odd shots, and says, for every outcome, where
// leaving them out would read differently.
func (r *Report) hedge(shots []placed, options Options) {
	kept := withoutOdd(shots)
	odd := len(shots) - len(kept)
	if odd == 0 {
		return
	}
	r.Doubts = append(r.Doubts, fmt.Sprintf("%d of %d shots do not look like the others of their club (mishits or misreads); all are "+
		"counted, and the odds on tightness, above all on area, are too sure", odd, len(shots)))
	without := Report{Outcomes: outcomes(r.Category, kept, r.Order, options)}
	for i := range r.Outcomes {
		o := &r.Outcomes[i]
		other, _ := without.Outcome(o.Name)
		if o.NotYet || other.NotYet || other.Verdict == o.Verdict {
			continue
		}
		r.Doubts = append(r.Doubts, fmt.Sprintf("without them, %s would read %q instead of %q", o.Name, other.Verdict, o.Verdict))
		if rests(o.Verdict, other.Verdict, o.Name) {
			o.Why = fmt.Sprintf("%q rests on %d odd shots; without them it would read %q", o.Verdict, odd, other.Verdict)
			o.Verdict, o.Needed = CannotTell, Needed{P50: -1, P90: -1}
		}
	}
}

// orderDoubts lists, in words, what the order of hitting leaves open.
func (r *Report) orderDoubts(shots int) {
	if r.Order.Confounded {
		r.Doubts = append(r.Doubts, "club and swing changed together: an instruction was given between the trials; hit the incumbent again "+
			"before judging the club")
	}
	if !r.Order.Known && shots > 0 {
		r.Doubts = append(r.Doubts, "the order of the shots is not known: warm-up, carry-over after a swap and drift cannot be told from the "+
			"club")
	}
}
