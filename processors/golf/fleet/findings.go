package fleet

import (
	"cmp"
	"math"
	"slices"
)

// Said is one thing that an answer says about builds: what a step does for a
// player, or how that depends on the swing. One of the two is set.
type Said struct {
	Effect     *Effect     `json:"effect,omitempty"`
	Dependence *Dependence `json:"dependence,omitempty"`
}

// Verdict is how it was judged.
func (f Said) Verdict() Verdict {
	if f.Effect != nil {
		return f.Effect.Verdict
	}
	return f.Dependence.Verdict
}

// Size is the largest change that it speaks of, without sign, in the outcome's
// own scale: of a dependence the largest at either end of the range of swings.
func (f Said) Size() float64 {
	if f.Effect != nil {
		return math.Abs(f.Effect.Change)
	}
	return max(math.Abs(f.Dependence.Ends[0].Effect.Change), math.Abs(f.Dependence.Ends[2].Effect.Change))
}

// Findings lists what the answer has to say to a person, findings first and hints
// after them, each by how much it changes for the player. What is open is not in
// it: Effects and Dependences have everything.
func (a *Answer) Findings(who Person) ([]Said, error) {
	s, err := a.screen(who)
	if err != nil {
		return nil, err
	}
	var out []Said
	for i := range s.effects {
		out = append(out, Said{Effect: &s.effects[i]})
	}
	for i := range s.dependences {
		out = append(out, Said{Dependence: &s.dependences[i]})
	}
	out = slices.DeleteFunc(out, func(f Said) bool { return f.Verdict().Evidence == Open })
	rank := func(f Said) int {
		if f.Verdict().Evidence == Finding {
			return 0
		}
		return 1
	}
	slices.SortStableFunc(out, func(a, b Said) int {
		return cmp.Or(cmp.Compare(rank(a), rank(b)), cmp.Compare(b.Size(), a.Size()))
	})
	return out, nil
}
