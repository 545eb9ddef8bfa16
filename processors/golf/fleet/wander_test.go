package fleet

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
)

// comeBack makes players who return to a club, whose level moves by share of their
// spread from run to run; spreads differ between players by a factor of three.
func comeBack(players int, share float64, mishits float64, seed uint64) (out []Repeats) {
	r := rand.New(rand.NewPCG(seed, 5))
	for p := range players {
		spread := math.Exp(r.NormFloat64() / 2)
		for range 1 + r.IntN(2) {
			one := Repeats{Player: fmt.Sprint(p), Runs: 2 + r.IntN(2)}
			var sum, squares, within float64
			for range one.Runs {
				level, n := share*spread*r.NormFloat64(), 5+r.IntN(8)
				var x, xx float64
				for range n {
					v := level + spread*r.NormFloat64()
					if r.Float64() < mishits {
						v -= 5 * spread
					}
					x, xx = x+v, xx+v*v
				}
				m := x / float64(n)
				within += xx - x*m
				sum, squares = sum+x, squares+x*m
				one.Shots += float64(n)
				one.SquaredRuns += float64(n * n)
				one.Degrees += float64(n - 1)
			}
			one.Between = squares - sum*sum/one.Shots
			one.Within = within / one.Degrees
			out = append(out, one)
		}
	}
	return out
}

// What was planted is found, over fleets of several sizes; few players leave what was
// declared nearly as it was, and mishits are not taken for wander.
func TestWanderIsLearnt(t *testing.T) {
	for _, c := range []struct {
		share, mishits float64
		players        int
		low, high      float64
	}{
		{0, 0, 800, 0, 0.13}, {0.25, 0, 800, 0.2, 0.3}, {0.5, 0, 800, 0.44, 0.56}, {1, 0, 800, 0.8, 1.1}, {0, 0.05, 800, 0, 0.16},
		{0.5, 0, 12, 0.2, 0.6},
	} {
		w, ok := LearnWander(comeBack(c.players, c.share, c.mishits, 3), 0.25)
		if !ok || w.Share < c.low || w.Share > c.high || w.Players != c.players {
			t.Errorf("planted %g among %d players (mishits %g): %+v, expected %g to %g", c.share, c.players, c.mishits, w, c.low, c.high)
		}
	}
	if w, ok := LearnWander(comeBack(9, 0.5, 0, 3), 0.25); ok {
		t.Errorf("nine players are enough: %+v", w)
	}
	odd := comeBack(40, 0.25, 0, 3)
	odd = append(odd, Repeats{Player: "a", Runs: 2, Shots: 10, SquaredRuns: 50, Between: math.NaN(), Within: 1, Degrees: 8},
		Repeats{Player: "b", Runs: 1, Shots: 10}, Repeats{Player: "c", Runs: 2, Shots: 10, SquaredRuns: 50, Between: 1, Within: 0, Degrees: 8})
	plain, _ := LearnWander(comeBack(40, 0.25, 0, 3), 0.25)
	if w, ok := LearnWander(odd, 0.25); !ok || w != plain {
		t.Errorf("what can't be used counts: %+v, without it %+v", w, plain)
	}
}
