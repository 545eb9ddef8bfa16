package evidence

import "fmt"

// hedge says which shots are taken for mishits, and for every outcome where the rest
// of them or all of them would read differently.
func (r *Report) hedge(shots, kept []placed, options Options) {
	odd := len(shots) - len(kept)
	if odd == 0 {
		return
	}
	var by [2]int
	for i, of := range [][]placed{shots, kept} {
		for _, s := range of {
			side := 0
			if s.candidate {
				side = 1
			}
			by[side] += 1 - 2*i
		}
	}
	r.Doubts = append(r.Doubts, fmt.Sprintf("likely mishits or misreads: %d of %d shots, %d with the baseline and %d with the candidate; "+
		"spreads are of the others, all else counts them", odd, len(shots), by[0], by[1]))
	if odd*8 > len(shots) {
		r.Doubts = append(r.Doubts, "with so many, some are taken for shots as meant: what is said of spreads is less sure than it looks")
	}
	without := outcomes(r.Category, kept, kept, r.Order, options)
	for _, o := range r.Outcomes {
		if o.Name.Tightness() || o.NotYet {
			continue
		}
		for _, other := range without {
			if other.Name == o.Name && !other.NotYet && other.Verdict != o.Verdict {
				r.Doubts = append(r.Doubts, fmt.Sprintf("without them, %s would read %q instead of %q", o.Name, other.Verdict, o.Verdict))
			}
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
