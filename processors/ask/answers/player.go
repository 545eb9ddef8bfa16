package answers

import (
	"context"
	"fmt"
	"math"

	"fairlead/processors/golf/fleet"
	"fairlead/processors/hub/store/question"
)

// Player is what the store knows of one player with one kind of club, now: not
// of a snapshot.
type Player struct {
	ID        string
	Category  string
	Shots     int                // that the profile was made from
	Traits    map[string]float64 // handed
	Incumbent [fleet.AttributeCount]float64
	Own       string        // key of the own club, hit last
	Trials    []fleet.Trial // judged ones, in the order hit
	Carry     float64       // m, with the own club: mean of its trials
}

// UnknownPlayerError says that a player has nothing to advise from.
type UnknownPlayerError struct{ Player, Category, Reason string }

// WrongUse marks what another command line mends.
func (*UnknownPlayerError) WrongUse() {}

func (e *UnknownPlayerError) Error() string {
	return fmt.Sprintf("player %q, %s: %s", e.Player, e.Category, e.Reason)
}

// Player reads a player's profile and trials.
func (f *Fleet) Player(ctx context.Context, id, category string) (*Player, error) {
	if err := (Filter{Category: category}).Check(); err != nil {
		return nil, err
	}
	if id == "" || category == "" {
		return nil, &UnknownPlayerError{id, category, "name both the player and the category"}
	}
	where := fmt.Sprintf("player = %s AND category = %s AND ", quote(id), quote(category))
	from := "(" + question.Trials(0, where, question.Profiles(0, where)) + ")"
	p := &Player{ID: id, Category: category, Traits: map[string]float64{}, Incumbent: fleet.NoAttributes()}
	n, shots := 0, 0.0
	err := f.trials(ctx, from, "at, number, part", reading{wide: true}, func(t *fleet.Trial) error {
		n++
		if t.Gamer {
			// What the own club is now is what was hit last.
			p.Incumbent, p.Own = t.Attributes, t.Build
			p.Carry += t.Shots.Carry * float64(t.Shots.N)
			shots += float64(t.Shots.N)
		}
		for i, name := range fleet.TraitNames {
			if x := t.Traits[i]; !math.IsNaN(x) {
				p.Traits[name] = x
			}
		}
		// The trial that describes the player is not judged by its own profile.
		if t.TraitsFrom == fleet.SameShots {
			p.Shots = t.Shots.N
			return nil
		}
		p.Trials = append(p.Trials, *t)
		return nil
	})
	switch {
	case err != nil:
		return nil, err
	case n == 0:
		return nil, &UnknownPlayerError{id, category,
			"no trial that may be used is stored: check the id, and whether the player consented and is of age"}
	case p.Own == "":
		return nil, &UnknownPlayerError{id, category, "the own club was not hit: without it there is no profile and nothing to compare with"}
	case len(p.Traits) == 0:
		return nil, &UnknownPlayerError{id, category,
			fmt.Sprintf("no trial of %d shots or more with the own club, or nothing of the swing was measured: there is no profile",
				question.DescribingShots)}
	}
	if shots > 0 {
		p.Carry /= shots
	}
	return p, nil
}
