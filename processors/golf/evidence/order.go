package evidence

import (
	"fmt"
	"slices"
)

// Left says how many shots of which trial were left out of a comparison, and why.
type Left struct {
	Trial string
	Shots int
	Why   string
}

// Order says how the order of hitting was dealt with.
type Order struct {
	// Known is false where a shot has no position: warm-up, carry-over and
	// drift can then not be told from the club.
	Known bool
	Left  []Left
	// Weighed are the positions of the shots that are weighed; none where the order
	// is not known, and all of them are.
	Weighed []int
	// Confounded: the player was told to change something between the trials,
	// and the incumbent has not been hit since; club and swing changed together.
	Confounded bool
}

// placed is a shot that counts, with its block (the trial it was hit in).
type placed struct {
	Shot
	block     int
	candidate bool
}

// arrange picks the shots that count. From the session's first shots the body
// is still warming up (clubhead speed rose by an eighth: Fradkin et al. 2004),
// and the first shots after a swap still carry the last club's feel; both are
// left out where the order is known, and named. Trials compare only under the
// same instruction: the candidate's latest one counts.
func arrange(baseline, candidate []Trial, warmUp, settle int) ([]placed, Order, error) {
	order := Order{Known: true}
	seen := map[int]string{}
	latest := 0
	for i, t := range slices.Concat(baseline, candidate) {
		if i >= len(baseline) {
			latest = max(latest, t.Instructions)
		}
		if err := t.Check(); err != nil {
			return nil, order, err
		}
		for _, s := range t.Shots {
			if s.Position == 0 {
				order.Known = false
				continue
			}
			if other, twice := seen[s.Position]; twice {
				return nil, order, fmt.Errorf("position %d is taken twice, in %s and %s: positions count all shots of the session, whatever the club",
					s.Position, other, t.Name)
			}
			seen[s.Position] = t.Name
		}
	}
	same := func(t Trial) bool { return t.Instructions == latest || len(candidate) == 0 }
	if len(candidate) > 0 && len(baseline) > 0 && !slices.ContainsFunc(baseline, same) {
		order.Confounded = true
	}
	var out []placed
	take := func(trials []Trial, isCandidate bool) {
		for i, t := range trials {
			if !same(t) && !(order.Confounded && !isCandidate) {
				order.Left = append(order.Left, Left{t.Name, len(t.Shots), "hit under another instruction"})
				continue
			}
			block := 2*i + 1
			if isCandidate {
				block = 2 * i
			}
			var cold, fresh int
			for j, s := range inOrder(t.Shots, order.Known) {
				switch {
				case order.Known && s.Position <= warmUp:
					cold++
				case order.Known && j < settle && !opens(t.Shots):
					fresh++
				default:
					out = append(out, placed{s, block, isCandidate})
					if order.Known {
						order.Weighed = append(order.Weighed, s.Position)
					}
				}
			}
			if cold > 0 {
				order.Left = append(order.Left, Left{t.Name, cold, fmt.Sprintf("warm-up: among the session's first %d shots", warmUp)})
			}
			if fresh > 0 {
				order.Left = append(order.Left, Left{t.Name, fresh, fmt.Sprintf("carry-over: the first %d shots after a swap", settle)})
			}
		}
	}
	take(baseline, false)
	take(candidate, true)
	return out, order, nil
}

// inOrder returns the shots by position.
func inOrder(shots []Shot, known bool) []Shot {
	if !known {
		return shots
	}
	out := slices.Clone(shots)
	slices.SortStableFunc(out, func(a, b Shot) int { return a.Position - b.Position })
	return out
}

// opens says that a trial opened its session, so that nothing was swapped.
func opens(shots []Shot) bool {
	return slices.ContainsFunc(shots, func(s Shot) bool { return s.Position == 1 })
}
