package fleet

import (
	"context"
	"fmt"
	"math"
	"testing"

	"fairlead/deploy/proof"

	"pgregory.net/rapid"
)

// draw makes a small random data set for a model drawn at random, so that every
// mix of session levels, shared variances and covariances is exercised.
func draw(t *rapid.T) *Data {
	m := Model{
		Columns:        []string{"a", "b", "c"},
		Moderators:     []string{"m"},
		Terms:          []Term{{"a", 0, -1}, {"b", 1, -1}, {"a:m", 0, 0}},
		Variance:       Variance(rapid.IntRange(0, 2).Draw(t, "variance")),
		SessionLevel:   rapid.Bool().Draw(t, "level"),
		FullCovariance: rapid.Bool().Draw(t, "full"),
	}
	// In any order, and not always part of the fixed terms.
	m.Random = [][]int{nil, {0}, {1, 0}, {2, 0, 1}}[rapid.IntRange(0, 3).Draw(t, "random")]
	b, err := NewBuilder(m)
	if err != nil {
		t.Fatal(err)
	}
	num := rapid.Float64Range(-2, 2)
	for j := range rapid.IntRange(8, 14).Draw(t, "players") {
		if err := b.Player(fmt.Sprint(j), []float64{num.Draw(t, "m")}); err != nil {
			t.Fatal(err)
		}
		for range rapid.IntRange(1, 2).Draw(t, "sessions") {
			v0 := rapid.Float64Range(0, 0.2).Draw(t, "v0")
			b.Session(v0)
			for range rapid.IntRange(3, 5).Draw(t, "rows") {
				row := []float64{num.Draw(t, "a"), num.Draw(t, "b"), num.Draw(t, "c")}
				if rapid.Bool().Draw(t, "sparse") {
					row[1] = 0
				}
				if err := b.Row(num.Draw(t, "y"), 0.2+rapid.Float64Range(0.01, 1).Draw(t, "v"), row); err != nil {
					t.Fatal(err)
				}
			}
		}
	}
	return b.Data()
}

func TestGradientIsTheSlopeOfTheLikelihood(t *testing.T) {
	proof.Check(t, func(t *rapid.T) {
		d := draw(t)
		ctx := context.Background()
		w, _, err := d.prepare(ctx, 1)
		if err != nil {
			t.Skip(err)
		}
		q := len(d.Random)
		at := point{tau: rapid.Float64Range(0.3, 1.5).Draw(t, "tau"), lower: make([]float64, q*q)}
		for _, e := range w.entries() {
			at.lower[e[0]*q+e[1]] = rapid.Float64Range(-1, 1).Draw(t, "L")
		}
		sol, err := w.solve(ctx, at)
		if err != nil {
			t.Fatal(err)
		}
		if sol.beta == nil {
			t.Skip("near the edge of what the machine can hold")
		}
		g, err := w.gradient(ctx, sol, false)
		if err != nil {
			t.Fatal(err)
		}
		grad, _ := w.local(at, g)
		for k := range grad {
			const h = 1e-5
			f := [2]float64{}
			for i, s := range []float64{-h, h} {
				delta := make([]float64, len(grad))
				delta[k] = s
				n, err := w.solve(ctx, w.step(at, delta))
				if err != nil {
					t.Fatal(err)
				}
				f[i] = n.n2
			}
			slope := (f[1] - f[0]) / (2 * h)
			if math.Abs(slope-grad[k]) > 1e-4*(1+math.Abs(slope)) {
				t.Fatalf("parameter %d: gradient %v, finite difference %v", k, grad[k], slope)
			}
		}
	})
}
