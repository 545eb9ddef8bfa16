package evidence

import (
	"math"
	"math/rand/v2"
	"testing"

	"fairlead/deploy/proof"
	"fairlead/ingest/contract/glossary"
	"fairlead/processors/golf/strokes"
)

// What is said in strokes holds for players whose shots are not as the sum takes them: the
// direction goes with the carry and has tails, the level wanders from run to run, and the
// worth is that of their own shots, taken one by one.
func TestStrokesAreWhatTheShotsAreWorth(t *testing.T) {
	sessions := proof.Cases(60, 600)
	rng := rand.New(rand.NewPCG(21, 8))
	hole := strokes.Usual()
	for _, at := range []struct {
		category                glossary.Category
		carry, longer, widerDeg float64
	}{{glossary.Driver, 205, 9, 1.5}, {glossary.Driver, 230, 0, -1}, {glossary.Iron, 140, 8, -0.8}} {
		shot := func(candidate bool, level float64) (carry, direction float64) {
			wide := 3.2
			carry = at.carry
			if candidate {
				wide, carry = wide+at.widerDeg, carry+at.longer
			}
			z := rng.NormFloat64()
			tail := 0.0
			for range 8 {
				x := rng.NormFloat64()
				tail += x * x / 8
			}
			direction = wide * (0.3*z + math.Sqrt(1-0.09)*rng.NormFloat64()) / math.Sqrt(tail) / math.Sqrt(8.0/6)
			return carry * (1 + 0.05*(z+level)), direction
		}
		// The truth, from many shots at the same flag or from the tee.
		worth := func(candidate bool) (sum float64) {
			n := proof.Cases(60000, 200000)
			own := at.carry
			if candidate {
				own += at.longer
			}
			for range n {
				carry, direction := shot(candidate, 0)
				if at.category == glossary.Iron {
					carry *= at.carry / own // another club would be taken for another distance
				}
				sum += hole.Shot(at.category, at.carry, carry, carry*math.Tan(direction*math.Pi/180)) / float64(n)
			}
			return sum
		}
		truth := worth(true) - worth(false)
		held, off := 0, 0.0
		for range sessions {
			side := func(candidate bool, from int) Trial {
				trial := Trial{Name: "run"}
				level := Wander * rng.NormFloat64()
				for i := range 10 {
					carry, direction := shot(candidate, level)
					trial.Shots = append(trial.Shots, Shot{Position: from + i, Values: map[Measure]float64{CarryM: carry,
						OfflineM: carry * math.Tan(direction*math.Pi/180)}})
				}
				return trial
			}
			r, err := Compare(at.category, []Trial{side(false, 6), side(false, 26)}, []Trial{side(true, 16), side(true, 36)}, Options{})
			if err != nil || r.Strokes == nil {
				t.Fatalf("%+v, %v", r.Strokes, err)
			}
			if r.Strokes.Low <= truth && truth <= r.Strokes.High {
				held++
			}
			off += (r.Strokes.Change - truth) / float64(sessions)
		}
		share := float64(held) / float64(sessions)
		t.Logf("%s: %.3f strokes a shot in truth, %.3f more said on average, intervals hold in %.1f %%", at.category, truth, off, 100*share)
		if least := 0.93 - 3*math.Sqrt(0.93*0.07/float64(sessions)); share < least {
			t.Errorf("%s: intervals hold in %.3f, at least %.3f", at.category, share, least)
		}
	}
}
