package evidence

import (
	"fairlead/ingest/contract/glossary"
	"math"
	"math/rand/v2"
)

// world is a simulated session with a driver, whose truth is known.
type world struct {
	carrySD, directionSD float64 // percent, deg; shot to shot
	carry                float64 // m, baseline
	effect               map[glossary.Name]float64
	drift                float64 // sd per shot
	mishits              float64 // share of shots
	wander               float64 // sd of a block's own level, in shot-to-shot sds
	levels               map[int]float64
	unequal              float64 // candidate's carry sd over the baseline's; 0: 1
	ordered              bool
	proportional         bool // the candidate's scatter grows with its carry, as a share of it
}

// draw makes a world in which each effect comes from the prior.
func drawWorld(r *rand.Rand, priors map[glossary.Name]Prior) world {
	w := world{carry: 190 + 60*r.Float64(), carrySD: 2.5 + 3*r.Float64(), directionSD: 2 + 3*r.Float64(), wander: Wander,
		effect: map[glossary.Name]float64{}, levels: map[int]float64{}}
	for _, n := range []glossary.Name{glossary.Carry, glossary.Direction, glossary.DistanceControl, glossary.Area} {
		if p, ok := priors[n]; ok {
			w.effect[n] = p.draw(r)
		}
	}
	return w
}

// shot hits one shot at a place in the session. An effect on area widens both
// axes alike.
func (w world) shot(r *rand.Rand, candidate bool, position, block int) placed {
	carry, sx, sy := w.carry, w.carrySD, w.directionSD
	shift := 0.0
	if candidate {
		if shift = w.effect[glossary.Carry]; w.proportional {
			carry, shift = carry+shift, 0
		}
		both := w.effect[glossary.Area] / 2
		sx *= math.Exp(w.effect[glossary.DistanceControl] + both)
		sy *= math.Exp(w.effect[glossary.Direction] + both)
		if w.unequal > 0 {
			sx *= w.unequal
		}
	}
	level, known := w.levels[block]
	if !known && w.wander > 0 {
		level = w.wander * r.NormFloat64()
		w.levels[block] = level
	}
	x := carry*(1+((r.NormFloat64()+level)*sx+w.drift*w.carrySD*float64(position))/100) + shift
	d := r.NormFloat64() * sy
	if r.Float64() < w.mishits {
		x *= 0.75 + 0.1*r.NormFloat64() // caught thin or off the heel
		d += 6 * r.NormFloat64()
	}
	s := Shot{Values: map[Measure]float64{CarryM: max(x, 1), OfflineM: max(x, 1) * math.Tan(d*math.Pi/180)}}
	if w.ordered {
		s.Position = position
	}
	return placed{s, block, candidate}
}

// question asks about one outcome as Compare does with a driver.
func ask(n glossary.Name, p Prior) question {
	s := n.Row().In[glossary.Driver]
	return question{name: n, prior: p, goal: DefaultGoal(glossary.Driver, n), margin: s.Margin, tau: s.Prior, alpha: 0.05, wander: Wander,
		block: 5}
}

// draw is one effect of those that a prior expects.
func (p Prior) draw(r *rand.Rand) float64 {
	sd := p.SD
	if p.Large > 0 && r.Float64() < p.Large {
		sd = p.LargeSD
	}
	return p.Mean + sd*r.NormFloat64()
}

// taken is the estimate from shots as Compare takes them.
func (q question) taken(category glossary.Category, shots []placed, drift bool) (estimate, [2]float64, bool) {
	return q.estimate(category, shots, withoutMishits(category, shots), drift)
}

// truth says whether an effect is an improvement.
func (q question) truth(effect float64) bool { return (effect > 0) == (q.goal.Way == glossary.Higher) }

// layout is an order of hitting: true for the candidate.
type layout func(i int) (candidate bool, block int)

// abThenLong hits ten with the baseline, then the candidate on and on.
func abThenLong(i int) (bool, int) {
	if i < 10 {
		return false, 1
	}
	return true, 0
}

// alternating hits blocks of five in turn, baseline first.
func alternating(i int) (bool, int) {
	b := i / 5
	return b%2 == 1, b
}
