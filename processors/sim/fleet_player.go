package sim

import (
	"fmt"
	"math"
	"math/rand/v2"
)

// FleetPlayer is one player of a fleet as planted.
type FleetPlayer struct {
	ID     string
	Number int
	Left   bool
	Scores TraitValues // standard scores of the traits, handed
	// The player's own part of each slope, a step.
	Direction, CarryControl, Carry Attributes
	direction                      float64 // mean, deg, handed
	lnDirection, lnCarry           float64 // spread of a standard club
	reach                          float64 // carry of a standard club as a share of what the speed gives
	gamers                         [len(fleetCategories)]clubCode
	unknown                        bool
	strike                         [2]float64 // m, mean toward the toe and up, of a trade
	r                              *rand.Rand
}

// Player draws one player; the rest of a fleet is not needed for it.
func (f *Fleet) Player(number int) FleetPlayer {
	r := source(f.Options.Seed, "fleet player", fmt.Sprint(number))
	p := FleetPlayer{ID: fmt.Sprintf("p%08d", number), Number: number, r: r}
	p.Left = chance(r, f.Options.Left)
	for i := range p.Scores {
		p.Scores[i] = within(r, 0, 1, -2.5, 2.5)
	}
	slopes := func(to *Attributes, q *Response6) {
		for a := range to {
			to[a] = normal(r, 0, q.SlopeSD[a])
		}
	}
	slopes(&p.Direction, &f.Planted.Direction)
	slopes(&p.CarryControl, &f.Planted.CarryControl)
	slopes(&p.Carry, &f.Planted.Carry)
	p.direction = normal(r, 0, 1.2)
	skill := r.NormFloat64()
	p.lnDirection = math.Log(3.1) - 0.22*skill + normal(r, 0, 0.12)
	p.lnCarry = math.Log(4.6) - 0.22*skill + normal(r, 0, 0.12)
	p.reach = 1 + normal(r, 0, 0.03)
	p.unknown = chance(r, f.Options.Unknown)
	for c := range p.gamers {
		p.gamers[c] = drawGamer(r, c)
	}
	if f.Options.Trade.Strikes {
		s := source(f.Options.Seed, "fleet strike", fmt.Sprint(number))
		p.strike = [2]float64{within(s, 0, 0.007, -0.018, 0.018), within(s, 0, 0.006, -0.015, 0.015)}
	}
	if f.Options.MirrorAll {
		p.Left = !p.Left
	}
	return p
}

// Traits are the player's traits in a category, handed.
func (p *FleetPlayer) Traits(category string) TraitValues {
	s := fleetScales[categoryNumber(category)]
	for i := range s.Centre {
		s.Centre[i] += s.SD[i] * p.Scores[i]
	}
	return s.Centre
}

// TrueChange is the true change of the planted outcomes when a player goes
// from one club to another: logarithms of the direction's and the carry's
// spread, and m of carry. The clubs are given in steps from the standard club.
func (f *Fleet) TrueChange(p *FleetPlayer, from, to Attributes) (direction, carryControl, carry float64) {
	q := &f.Planted
	return q.Direction.mean(&to, &p.Direction, &p.Scores) - q.Direction.mean(&from, &p.Direction, &p.Scores),
		q.CarryControl.mean(&to, &p.CarryControl, &p.Scores) - q.CarryControl.mean(&from, &p.CarryControl, &p.Scores),
		q.Carry.mean(&to, &p.Carry, &p.Scores) - q.Carry.mean(&from, &p.Carry, &p.Scores)
}

// Gamer is the player's own club in a category, in steps from the standard club.
func (f *Fleet) Gamer(p *FleetPlayer, category string) Attributes {
	return f.builds.of(p.gamers[categoryNumber(category)], true, p.unknown).steps
}

func categoryNumber(category string) int {
	for i, c := range fleetCategories {
		if c == category {
			return i
		}
	}
	return 0
}
