package world

import (
	"math"
	"math/rand/v2"

	"fairlead/processors/golf/fleet"
)

// Visitor is a player who hits two clubs in a studio that is none of a fleet's.
type Visitor struct {
	Traits   map[string]float64 // as a fleet's rows have them
	From, To [fleet.AttributeCount]float64
	// Change is what the second club did to the ln spread of the direction in this session:
	// what the step does to this player, and what differs from one run of shots to the next.
	Change float64
	// Hits are directions (deg) and carries (m) of shots with either club.
	Hits [2][][2]float64
}

// Visit makes one of a studio in which a step of an attribute does apart more, in ln
// spread, than in the studios of a world on average; the clubs differ by one or two steps
// of length, lie or loft, and each is hit n times.
func Visit(r *rand.Rand, apart map[fleet.Attribute]float64, n int) Visitor {
	v := Visitor{Traits: map[string]float64{}, From: fleet.NoAttributes(), To: fleet.NoAttributes()}
	z := map[string]float64{}
	for _, name := range Traits {
		z[name] = r.NormFloat64()
		v.Traits[name] = people[name][0] + people[name][1]*z[name]
	}
	changed := Attributes[r.IntN(len(Attributes))]
	steps := float64(1-2*r.IntN(2)) * float64(1+r.IntN(2))
	for _, a := range Attributes {
		own := math.Round(2*r.NormFloat64()) / 2
		v.From[a] = middle[a] + own*a.Step()
		v.To[a] = v.From[a]
		if a == changed {
			v.To[a] += steps * a.Step()
			v.Change = steps * (main[a] + bySpd[a]*z["speed_mps"] + apart[a] + ownSlope*r.NormFloat64())
		}
	}
	v.Change += math.Sqrt2 * trialNoise * r.NormFloat64()
	sd := math.Exp(math.Log(2.8) + 0.3*r.NormFloat64())
	for k := range v.Hits {
		if k == 1 {
			sd *= math.Exp(v.Change)
		}
		aim := 0.5 * r.NormFloat64()
		for range n {
			v.Hits[k] = append(v.Hits[k], [2]float64{aim + sd*r.NormFloat64(), 205 + 7*r.NormFloat64()})
		}
	}
	return v
}
