package sim

import (
	"fmt"
	"math/rand/v2"
	"sync"

	"fairlead/ingest/contract/event"
)

// clubCode is a club of a fleet in whole steps of its parts from the standard
// club of its category: small enough to be a key.
type clubCode struct {
	category                                       int8
	length, loft, lie, shaft, flex, torque, weight int8
}

func drawGamer(r *rand.Rand, category int) clubCode {
	d := func(most int) int8 { return int8(between(r, -most, most)) }
	return clubCode{int8(category), d(1), d(1), d(1), d(2), d(1), d(1), d(1)}
}

// change makes a candidate: one thing other than in the gamer, now and then
// two. lean steers the shaft: above 0 heavier and stiffer only, below 0 the
// other way, by how strongly the fitter selects.
func (c clubCode) change(r *rand.Rand, fast bool, selection float64) clubCode {
	out := c
	things := 1
	if chance(r, 0.25) {
		things = 2
	}
	for range things {
		side := int8(1 - 2*r.IntN(2))
		steered := side
		if chance(r, selection) {
			steered = -1
			if fast {
				steered = 1
			}
		}
		switch r.IntN(7) {
		case 0:
			out.length += side
		case 1:
			out.loft += side
		case 2:
			out.lie += side * int8(1+r.IntN(2))
		case 3:
			out.shaft += steered * int8(1+r.IntN(2))
		case 4:
			out.flex += steered
		case 5:
			out.torque += side
		case 6:
			out.weight += side
		}
	}
	if out.flex > 2 {
		out.flex = 2
	}
	if out.flex < -2 {
		out.flex = -2
	}
	return out
}

// fleetBuild is a club with everything that rows need of it.
type fleetBuild struct {
	number uint32 // in the cache
	key    string
	name   string
	build  *event.Build
	values Attributes // true
	steps  Attributes // from the standard club
	known  [attributes]bool
	head   string
	shaft  string
	flex   string
	gamer  bool
	grip   string
	// Of a trade: what its models do beyond its figures, and how gladly it is taken.
	direction, carry, chosen float64
}

type buildCode struct {
	club           clubCode
	gamer, unknown bool
}

// buildCache makes each build once. It may be used by several goroutines.
type buildCache struct {
	mu   sync.RWMutex
	made map[buildCode]*fleetBuild
}

func newBuildCache() *buildCache { return &buildCache{made: map[buildCode]*fleetBuild{}} }

func (b *buildCache) of(c clubCode, gamer, unknown bool) *fleetBuild {
	code := buildCode{c, gamer, unknown && gamer}
	b.mu.RLock()
	out := b.made[code]
	b.mu.RUnlock()
	if out != nil {
		return out
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	if out = b.made[code]; out == nil {
		out = code.make()
		out.number = uint32(len(b.made))
		b.made[code] = out
	}
	return out
}

const fleetGrip = 0.050 // kg

func (code buildCode) make() *fleetBuild {
	c := code.club
	category := fleetCategories[c.category]
	s := standard[category]
	base := Attributes{s.length, s.loft, s.lie, s.shaft, 2, s.torque, s.head, heft(s.length, s.head, s.shaft, fleetGrip)}
	out := &fleetBuild{values: base, gamer: code.gamer}
	for a, n := range map[Attribute]int8{Length: c.length, Loft: c.loft, Lie: c.lie, ShaftWeight: c.shaft, Flex: c.flex,
		HeadWeight: c.weight} {
		out.values[a] = round(base[a]+float64(n)*a.Info().Step, 5)
	}
	out.values[Torque] = round(base[Torque]+0.5*float64(c.torque), 2)
	out.values[SwingWeight] = round(heft(out.values[Length], out.values[HeadWeight], out.values[ShaftWeight], fleetGrip), 5)
	out.steps = out.values.steps(base)
	out.head = heads[category][0]
	out.shaft = shafts[min(len(shafts)-1, max(0, int(c.shaft)+3))].model
	out.flex = flexLetter(out.values[Flex])
	out.name = fmt.Sprintf("%s %+d/%+d/%+d %s%+d%s %+d", category, c.length, c.loft, c.lie, out.shaft, c.shaft, out.flex, c.weight)
	out.build = &event.Build{Name: out.name, Gamer: code.gamer}
	say := func(f event.BuildField, text string) {
		out.build.Specs = append(out.build.Specs, &event.Spec{Field: f, Text: text})
	}
	say(event.BuildField_BUILD_HEAD_MODEL, out.head)
	if code.gamer {
		out.name, out.build.Name = "own "+category, "own "+category
	}
	if code.unknown {
		out.shaft, out.flex = "", ""
	} else {
		say(event.BuildField_BUILD_SHAFT_MODEL, out.shaft)
		say(event.BuildField_BUILD_FLEX, out.flex)
		for a := range attributes {
			if out.known[a] = true; a != Flex {
				out.build.Specs = append(out.build.Specs,
					&event.Spec{Field: a.Info().Field, Knowledge: event.Knowledge_KNOWLEDGE_MEASURED, Number: out.values[a]})
			}
		}
	}
	out.key = event.BuildKey(out.build)
	return out
}
