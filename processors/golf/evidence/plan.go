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

// Lot is a club that the next block may be drawn for: as good a guess as the best, or
// nearly. Worth is what is learnt and gained, the odds that the block decides about the
// club times the odds that the club is the better one, at the outcome where that is most.
type Lot struct {
	Build  string
	Worth  float64
	Chance float64 // with which it is drawn; those of a plan add up to 1
}

// Plan is a suggestion for what to hit next.
type Plan struct {
	Blocks []Block
	Buys   []Buy // most likely first
	// Lots are two clubs or more that are near equals, the best first, or none: which of
	// them is hit first is then no matter of judgement, and drawing it makes it evidence.
	Lots []Lot
	Done string // set when nothing is left that shots would decide soon
}

const (
	// nearEqual is the share of the best club's worth from which on another is drawn too.
	nearEqual = 0.5
	// mostLots keeps each chance large enough for an analysis to weigh by its inverse.
	mostLots = 4
)

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
	var lots []Lot
	for _, c := range finalists {
		lot := Lot{Build: c.Name}
		for _, n := range judgedBy(category) {
			o, ok := c.Report.Outcome(n)
			if !ok || o.Verdict != CannotTell {
				continue
			}
			prob, better := o.Needed.Soon, o.ProbBetter
			if o.NotYet && o.More > 0 {
				prob, better = 0.5, 0.5 // nothing is known yet; it must be hit to find out
			}
			plan.Buys = append(plan.Buys, Buy{c.Name, n, prob})
			lot.Worth = max(lot.Worth, prob*better)
		}
		lots = append(lots, lot)
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
	plan.Lots = chances(lots)
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
			outcome := strings.ToLower(glossary.Told(string(plan.Buys[0].Outcome), category == glossary.Putter).Cell)
			why = fmt.Sprintf("its %s has the best odds of being decided by this block (%.0f %%)", outcome, 100*plan.Buys[0].Prob)
		}
		if open(category, c.Report) {
			plan.Blocks = append(plan.Blocks, Block{c.Name, shots, why})
		}
	}
	plan.Blocks = append(plan.Blocks, Block{incumbent, shots, "again at the end, so that a drifting player is not taken for a club"})
	return plan
}

// chances keeps the near equals of the best lot, and draws each in proportion to its
// worth; nil where the best has no equal.
func chances(lots []Lot) []Lot {
	slices.SortStableFunc(lots, func(a, b Lot) int { return cmp.Compare(b.Worth, a.Worth) })
	sum := 0.0
	for i, l := range lots {
		if i == mostLots || !(l.Worth > 0) || l.Worth < nearEqual*lots[0].Worth {
			lots = lots[:i]
			break
		}
		sum += l.Worth
	}
	if len(lots) < 2 {
		return nil
	}
	for i := range lots {
		lots[i].Chance = lots[i].Worth / sum
	}
	return lots
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
