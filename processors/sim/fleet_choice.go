package sim

import "math/rand/v2"

// choice says why a club was hit, as a trial's row has it.
type choice struct {
	why     string // '' where nobody said
	chance  float64
	offered uint8
}

// choose picks the next club of a player. With lots or hunches two are on offer. By the
// lot one of them is drawn, with a chance of its own that is logged. Otherwise the fitter
// has a hunch, or none: a hunch is which of the two does more for the direction of this
// very player, their own slopes included, and no trait of theirs tells that.
func (f *Fleet) choose(r *rand.Rand, p *FleetPlayer, own clubCode, fast bool) (*fleetBuild, choice) {
	o := &f.Options
	one := f.builds.of(own.change(r, fast, o.Selection), false, false)
	if o.Lots == 0 && o.Hunch == 0 {
		return one, choice{}
	}
	other := f.builds.of(own.change(r, fast, o.Selection), false, false)
	if chance(r, o.Lots) {
		odds := 0.3 + 0.4*r.Float64()
		if !chance(r, odds) {
			one, odds = other, 1-odds
		}
		return one, choice{"drawn", odds, 2}
	}
	suits := func(b *fleetBuild) float64 { return f.Planted.Direction.mean(&b.steps, &p.Direction, &p.Scores) }
	if chance(r, o.Hunch) && suits(other) < suits(one) {
		one = other
	}
	return one, choice{why: "fitter"}
}
