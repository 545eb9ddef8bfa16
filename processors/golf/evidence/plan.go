package evidence

import (
	"cmp"
	"fairlead/ingest/contract/glossary"
	"fmt"
	"slices"
	"strings"
)

// Candidate is one club under comparison with the incumbent: its report, and
// the place of its last shot in the session (0 where not known).
type Candidate struct {
	Name     string
	Report   Report
	LastShot int
}

// Block is a run of shots to hit next.
type Block struct {
	Build string
	Shots int
	Why   string
}

// Buy is what the next block would probably decide.
type Buy struct {
	Build   string
	Outcome glossary.Name
	Prob    float64
}

// Plan is a suggestion for what to hit next.
type Plan struct {
	Blocks []Block
	Buys   []Buy  // most likely first
	Done   string // set when nothing is left that shots would decide soon
}

// hopeless is the chance of a decision below which a block is not worth a
// player's strength.
const hopeless = 0.05

// Next suggests the next blocks. Candidates that are worse on an outcome the
// category is judged by drop out; the rest are the finalists. The comparison
// that the next block most probably decides comes first, the finalists follow
// in the reverse of the order they were last hit (so that each meets early and
// late places alike), and the incumbent is hit again at the end, where a
// drifting player shows. Where an instruction was given since, the incumbent
// comes first instead: without it nothing compares.
func Next(category glossary.Category, incumbent string, candidates []Candidate, shots int) Plan {
	if shots <= 0 {
		shots = 5
	}
	var plan Plan
	var finalists []Candidate
	again := false
	for _, c := range candidates {
		if c.Report.Order.Confounded {
			again = true
		}
		if !loses(category, c.Report) {
			finalists = append(finalists, c)
		}
	}
	if again {
		plan.Blocks = []Block{{incumbent, shots, "an instruction was given since it was hit: club and swing changed together"}}
		return plan
	}
	for _, c := range finalists {
		for _, n := range judgedBy(category) {
			o, ok := c.Report.Outcome(n)
			if !ok || o.Verdict != CannotTell {
				continue
			}
			prob := o.Needed.Soon
			if o.NotYet && o.More > 0 {
				prob = 0.5 // nothing is known yet; it must be hit to find out
			}
			plan.Buys = append(plan.Buys, Buy{c.Name, n, prob})
		}
	}
	slices.SortStableFunc(plan.Buys, func(a, b Buy) int { return cmp.Compare(b.Prob, a.Prob) })
	if len(finalists) == 0 || len(plan.Buys) == 0 {
		plan.Done = "everything this category is judged by is decided; choose on feel, price or room to grow among equals"
		return plan
	}
	if plan.Buys[0].Prob < hopeless {
		plan.Done = "no further block is likely to decide what is still open; decide on what is known, or pool with other players"
		return plan
	}
	first := plan.Buys[0].Build
	slices.SortStableFunc(finalists, func(a, b Candidate) int {
		switch {
		case (a.Name == first) != (b.Name == first):
			if a.Name == first {
				return -1
			}
			return 1
		}
		return b.LastShot - a.LastShot
	})
	for _, c := range finalists {
		why := "finalist, in balance with the others"
		if c.Name == first {
			why = fmt.Sprintf("its %s has the best odds of being decided by this block (%.0f %%)", called(category, plan.Buys[0].Outcome),
				100*plan.Buys[0].Prob)
		}
		if open(category, c.Report) {
			plan.Blocks = append(plan.Blocks, Block{c.Name, shots, why})
		}
	}
	plan.Blocks = append(plan.Blocks, Block{incumbent, shots, "again at the end, so that a drifting player is not taken for a club"})
	return plan
}

// called is an outcome as it is said of a kind of club: a putt has no direction
// scatter, but one of its start line.
func called(c glossary.Category, n glossary.Name) string {
	o, ok := glossary.Find(string(n))
	switch {
	case ok && c == glossary.Putter && o.Words.CellPutts != "":
		return strings.ToLower(o.Words.CellPutts)
	case ok && o.Words.Cell != "":
		return strings.ToLower(o.Words.Cell)
	}
	return string(n)
}

// judgedBy lists what a category is judged by; area stays secondary.
func judgedBy(c glossary.Category) []glossary.Name {
	var out []glossary.Name
	for _, o := range c.Primary() {
		out = append(out, o.Name)
	}
	return out
}

func loses(c glossary.Category, r Report) bool {
	return slices.ContainsFunc(judgedBy(c), func(n glossary.Name) bool {
		o, ok := r.Outcome(n)
		return ok && o.Verdict == Worse
	})
}

func open(c glossary.Category, r Report) bool {
	return slices.ContainsFunc(judgedBy(c), func(n glossary.Name) bool {
		o, ok := r.Outcome(n)
		return ok && o.Verdict == CannotTell
	})
}
