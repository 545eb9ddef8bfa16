package fleet

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
)

// visitsIn makes players' visits in devices that add noise of their own, in deg; wide is
// by how much the players of each are wider by nature.
func visitsIn(seed uint64, players int, noise, wide []float64, mishits float64) []Trial {
	r := rand.New(rand.NewPCG(seed, 3))
	var out []Trial
	for p := range players {
		d := p % len(noise)
		level := math.Log(2.5) + wide[d] + 0.3*r.NormFloat64()
		for k := range 4 {
			t := Trial{Player: fmt.Sprintf("player-%04d", p), Session: fmt.Sprintf("visit-%04d", p), Studio: "harbour-row",
				Bay: []string{"north", "south", "quay", "pier", "mole"}[d], Device: "beam", Gamer: k%3 == 0, Level: 1, Number: k + 1,
				Attributes: NoAttributes(), Traits: NoTraits()}
			sd := math.Exp(level + 0.07*r.NormFloat64())
			x := make([]float64, 12)
			for i := range x {
				x[i] = sd*r.NormFloat64() + noise[d]*r.NormFloat64()
				if r.Float64() < mishits {
					x[i] = 3 * math.Exp(level) * r.NormFloat64()
				}
				t.Shots.Direction += x[i] / float64(len(x))
			}
			t.Shots.N, t.Shots.Directed, t.Shots.Carry = len(x), len(x), 150
			for _, v := range x {
				v -= t.Shots.Direction
				t.Shots.DirectionSS += v * v
				t.Shots.DirectionS4 += v * v * v * v
			}
			out = append(out, t)
		}
	}
	return out
}

// A device that more than doubles the variance is found, and by how much to a fifth; one
// that adds less may pass for wider players; no honest one is called noisy.
func TestNoisyDevicesAreFound(t *testing.T) {
	lesser := 0
	for seed := range uint64(8) {
		k := MeasureNoise(visitsIn(seed, 250, []float64{0, 0, 3, 0, 2}, make([]float64, 5), 0))
		for name, q := range k.Devices {
			want := map[string]float64{"harbour-row/quay/beam": 3, "harbour-row/mole/beam": 2}[name]
			if want == 0 || math.Abs(q.Direction/want-1) > map[float64]float64{3: 0.2, 2: 0.35}[want] || q.Carry != 0 {
				t.Errorf("seed %d: %s adds %v, not %v", seed, name, q, want)
			}
			if want == 2 {
				lesser++
			}
		}
		if k.Devices["harbour-row/quay/beam"].Direction == 0 {
			t.Errorf("seed %d: 3 degrees went unnoticed: %v", seed, k.Devices)
		}
	}
	if lesser < 4 {
		t.Errorf("2 degrees were noticed in %d of 8 fleets", lesser)
	}
}

// Where the players of a bay are wider by nature, its device is not to blame; nor is any
// where players differ alone.
func TestPeopleAreNoNoise(t *testing.T) {
	blamed := 0
	for seed := range uint64(10) {
		for _, wide := range [][]float64{make([]float64, 5), {0, 0.2, 0, -0.15, 0}} {
			blamed += len(MeasureNoise(visitsIn(seed, 250, make([]float64, 5), wide, 0)).Devices)
		}
	}
	if blamed > 2 {
		t.Errorf("%d of 100 honest devices are called noisy", blamed)
	}
}

// Mishits are found, and the spread that remains is that of the other shots: the same
// with and without them, and moved by a step by as much as they are.
func TestTheSpreadIsThatOfTheOtherShots(t *testing.T) {
	o, _ := FindOutcome("direction")
	mean := func(k Noise, trials []Trial) (m, off float64) {
		for i := range trials {
			y, v, ok := o.Value(&trials[i], k)
			if !ok {
				t.Fatal("no value")
			}
			m += y / float64(len(trials))
			off += v / float64(len(trials))
		}
		return m, off
	}
	calm := visitsIn(1, 500, []float64{0}, []float64{0}, 0)
	wild := visitsIn(1, 500, []float64{0}, []float64{0}, 0.1)
	quiet, loud := MeasureNoise(calm), MeasureNoise(wild)
	if quiet.DirectionMishits != (Mishits{}) || loud.CarryMishits != (Mishits{}) {
		t.Errorf("mishits where there are none: %+v, %+v", quiet, loud)
	}
	if m := loud.DirectionMishits; m.Share < 0.05 || m.Share > 0.15 || m.Wide < 2.5 || m.Wide > 4 {
		t.Errorf("one shot in ten three times as wide is found as %+v", m)
	}
	a, _ := mean(quiet, calm)
	b, v := mean(loud, wild)
	plain := loud
	plain.DirectionMishits = Mishits{}
	c, _ := mean(plain, wild)
	if math.Abs(a-b) > 0.05 || c-a < 0.15 {
		t.Errorf("ln spread %.3f without mishits; with them %.3f, as measured %.3f", a, b, c)
	}
	if v < 0.05 || v > 0.2 {
		t.Errorf("the variance of twelve shots' ln spread is said to be %.3f", v)
	}
	notes := loud.notes(o)
	if len(notes) != 1 || !strings.Contains(notes[0].Text, "one shot in") {
		t.Errorf("what was taken out is not said: %v", notes)
	}
}
