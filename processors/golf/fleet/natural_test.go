package fleet

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"fairlead/deploy/proof"

	"pgregory.net/rapid"
)

// manyRows is more rows than are iterated to the last digit: one slope varies
// between players, one does not.
func manyRows(tb testing.TB) *Data {
	b, err := NewBuilder(Model{
		Columns: []string{"a", "b"}, Moderators: []string{"m"}, Random: []int{0, 1}, SessionLevel: true, Compact: true,
		Terms: []Term{{"a", 0, -1}, {"a:m", 0, 0}, {"b", 1, -1}},
	})
	if err != nil {
		tb.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(7, 7))
	for j := range 62_000 {
		m, own := rng.NormFloat64(), 0.3*rng.NormFloat64()
		if err := b.Player(fmt.Sprintf("%06d", j), []float64{m}); err != nil {
			tb.Fatal(err)
		}
		if err := b.Session(0); err != nil {
			tb.Fatal(err)
		}
		for k := range 5 {
			x, z := float64(k%3), float64(rng.IntN(3))
			v := 0.05 + 0.1*rng.Float64()
			y := (0.2+0.1*m+own)*x - 0.1*z + math.Sqrt(v+0.04)*rng.NormFloat64()
			if err := b.Row(y, v, []float64{x, z}); err != nil {
				tb.Fatal(err)
			}
		}
	}
	return b.Data()
}

// TestManyRowsGiveTheSameAnswer holds the search over very many rows, with its
// shares of players and its early end, against newton to the last digit.
func TestManyRowsGiveTheSameAnswer(t *testing.T) {
	d := manyRows(t)
	ctx := context.Background()
	got, err := d.Fit(ctx, Options{})
	if err != nil {
		t.Fatal(err)
	}
	w, _, err := d.prepare(ctx, 0)
	if err != nil {
		t.Fatal(err)
	}
	near, err := w.natural(ctx, point{tau: 0.5, lower: []float64{0.4, 0, 0, 0.4}}, 1, false)
	if err != nil {
		t.Fatal(err)
	}
	s, err := w.newton(ctx, nudge(near.at, 2), 1e-12, false)
	if err != nil {
		t.Fatal(err)
	}
	if s.slope, err = w.gradient(ctx, s.solution, true); err != nil {
		t.Fatal(err)
	}
	want := w.report(s, Options{Level: 0.95}, 0)
	if math.Abs(got.REML-want.REML) > 1e-4 {
		t.Errorf("−2 × likelihood %.6f, to the last digit %.6f", got.REML, want.REML)
	}
	for i, e := range got.Terms {
		f := want.Terms[i]
		if math.Abs(e.Value-f.Value) > 1e-4*f.SE || math.Abs(e.SE/f.SE-1) > 1e-4 || math.Abs(e.Clustered/f.Clustered-1) > 1e-3 {
			t.Errorf("%s: %v ± %v (%v), to the last digit %v ± %v (%v)", e.Name, e.Value, e.SE, e.Clustered, f.Value, f.SE, f.Clustered)
		}
	}
	if math.Abs(got.Tau2/want.Tau2-1) > 1e-3 || math.Abs(got.Random[0].SD/want.Random[0].SD-1) > 1e-3 ||
		math.Abs(got.Random[1].SD-want.Random[1].SD) > 1e-2 {
		t.Errorf("τ² %v and slopes %v, to the last digit %v and %v", got.Tau2, got.Random, want.Tau2, want.Random)
	}
}

// TestBoxedSatisfiesItsConditions: no coordinate can improve.
func TestBoxedSatisfiesItsConditions(t *testing.T) {
	proof.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 6).Draw(t, "n")
		num := rapid.Float64Range(-2, 2)
		root, h, g, theta := make([]float64, n*n), make([]float64, n*n), make([]float64, n), make([]float64, n)
		for i := range root {
			root[i] = num.Draw(t, "root")
		}
		for i := range n {
			for k := range n {
				h[i*n+k] = dot(root[i*n:(i+1)*n], root[k*n:(k+1)*n])
			}
			h[i*n+i] += 0.1
			g[i], theta[i] = num.Draw(t, "g"), math.Abs(num.Draw(t, "theta"))
		}
		delta := boxed(g, h, theta)
		for i, x := range delta {
			slope := g[i] + dot(h[i*n:(i+1)*n], delta)
			if x < -theta[i] || slope < -1e-6 || x > -theta[i] && slope > 1e-6 {
				t.Fatalf("δ %v of θ %v leaves the slope %v at %d", delta, theta, slope, i)
			}
		}
	})
}

// TestCellsAreTheMatrix holds the sums by cells against the product written out,
// for any mix of traits on columns.
func TestCellsAreTheMatrix(t *testing.T) {
	proof.Check(t, func(t *rapid.T) {
		m := &Model{Moderators: []string{"m", "n"}}
		num := rapid.Float64Range(-2, 2)
		for c := range rapid.IntRange(1, 4).Draw(t, "columns") {
			m.Columns = append(m.Columns, fmt.Sprint(c))
			for _, mod := range rapid.SampledFrom([][]int{{-1, 0, 1}, {-1}, {0}, {-1, 1}, {}, {1, 0, -1}}).Draw(t, "traits") {
				m.Terms = append(m.Terms, Term{fmt.Sprint(c, mod), c, mod})
			}
		}
		p := newPlan(m)
		P, L := len(m.Terms), len(m.Columns)
		u := []float64{1, num.Draw(t, "m"), num.Draw(t, "n")}
		b := &block{l: L}
		for c := range L {
			b.act = append(b.act, c)
		}
		for _, mi := range p.mod {
			b.ut = append(b.ut, u[mi])
		}
		for i, x := range u {
			for _, z := range u[i:] {
				b.uu = append(b.uu, x*z)
			}
		}
		s := make([]float64, (L+1)*(L+1))
		for i := range L + 1 {
			for k := range i + 1 {
				s[i*(L+1)+k] = num.Draw(t, "s")
				s[k*(L+1)+i] = s[i*(L+1)+k]
			}
		}
		sum, xy := make([]float64, p.cells.size), make([]float64, P)
		b.addCross(p, s, &sums{cells: sum, xy: xy})
		xx := p.cells.unfold(p, sum)
		for i, ti := range p.order {
			ci := m.Terms[ti].Column
			if want := s[ci*(L+1)+L] * b.ut[i]; math.Abs(xy[i]-want) > 1e-12 {
				t.Fatalf("xy of %s: %v, want %v", m.Terms[ti].Name, xy[i], want)
			}
			for k, tk := range p.order {
				ck := m.Terms[tk].Column
				if want := s[ci*(L+1)+ck] * b.ut[i] * b.ut[k]; math.Abs(xx[i*P+k]-want) > 1e-12 {
					t.Fatalf("xx of %s and %s: %v, want %v", m.Terms[ti].Name, m.Terms[tk].Name, xx[i*P+k], want)
				}
			}
		}
	})
}

// TestCompactRowsAreTheRows packs and unpacks, beyond the columns that have a bit
// of their own too.
func TestCompactRowsAreTheRows(t *testing.T) {
	proof.Check(t, func(t *rapid.T) {
		L := rapid.SampledFrom([]int{1, 3, 63, 64, 70}).Draw(t, "columns")
		model := func(compact bool) Model {
			m := Model{SessionLevel: true, Compact: compact, Terms: []Term{{"0", 0, -1}}}
			for c := range L {
				m.Columns = append(m.Columns, fmt.Sprint(c))
			}
			return m
		}
		wide, err := NewBuilder(model(false))
		if err != nil {
			t.Fatal(err)
		}
		narrow, err := NewBuilder(model(true))
		if err != nil {
			t.Fatal(err)
		}
		ids := rapid.SliceOfNDistinct(rapid.StringMatching("[a-c]{1,3}"), 1, 6, rapid.ID).Draw(t, "players")
		for _, id := range ids {
			wide.Player(id, nil)
			narrow.Player(id, nil)
			for range rapid.IntRange(1, 2).Draw(t, "sessions") {
				wide.Session(0)
				narrow.Session(0)
				for range rapid.IntRange(0, 3).Draw(t, "rows") {
					row := make([]float64, L)
					for range rapid.IntRange(0, 3).Draw(t, "set") {
						row[rapid.IntRange(0, L-1).Draw(t, "at")] = float64(rapid.IntRange(-3, 3).Draw(t, "x"))
					}
					if err := wide.Row(1, 1, row); err != nil {
						t.Fatal(err)
					}
					if err := narrow.Row(1, 1, row); err != nil {
						t.Fatal(err)
					}
				}
			}
		}
		a, b := wide.Data(), narrow.Data()
		if a.Rows() != b.Rows() || a.Players() != b.Players() {
			t.Fatalf("%d rows of %d players, compact %d of %d", a.Rows(), a.Players(), b.Rows(), b.Players())
		}
		sc := scales{perCol: ones(L), perMod: ones(1), y: 1}
		for j := range a.Players() {
			var x, y block
			x.load(a, j, &sc, false)
			y.load(b, j, &sc, false)
			if fmt.Sprint(x.act, x.x) != fmt.Sprint(y.act, y.x) {
				t.Fatalf("player %d: columns %v, rows %v; compact %v, %v", j, x.act, x.x, y.act, y.x)
			}
		}
		for j, id := range a.ids {
			if at, ok := b.find(id); !ok || at != j {
				t.Fatalf("player %q is at %d, %v; want %d", id, at, ok, j)
			}
		}
	})
}

// nudge moves a start off exact zeros, where the search could not leave again.
func nudge(at point, q int) point {
	at = at.clone()
	at.tau = max(at.tau, 1e-2)
	for i := 0; i < q; i++ {
		if math.Abs(at.lower[i*q+i]) < 1e-2 {
			at.lower[i*q+i] = 1e-2
		}
	}
	return at
}
