package fleet

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// twoColumns makes a data set with levels, in which a's slope varies with a
// trait and by player.
func twoColumns(t *testing.T, players int, skip string) (*Data, [][]Row) {
	t.Helper()
	b, err := NewBuilder(Model{
		Columns: []string{"a", "b"}, Moderators: []string{"m"},
		Terms:  []Term{{"a", 0, -1}, {"b", 1, -1}, {"a:m", 0, 0}},
		Random: []int{0, 1}, FullCovariance: true, SessionLevel: true,
	})
	if err != nil {
		t.Fatal(err)
	}
	all := make([][]Row, players)
	for j := range players {
		id := fmt.Sprint("p", j)
		rng := rand.New(rand.NewPCG(7, uint64(j)))
		var deck [700]float64
		for i := range deck {
			deck[i] = rng.NormFloat64()
		}
		x := func(k int) float64 { return deck[k] }
		if id != skip {
			if err := b.Player(id, []float64{x(99)}); err != nil {
				t.Fatal(err)
			}
		}
		for s := range 2 {
			if id != skip {
				if err := b.Session(0); err != nil {
					t.Fatal(err)
				}
			}
			for k := range 4 {
				c := []float64{x(10*s + k), x(10*s + k + 50)}
				y := 0.4*c[0] + 0.3*x(99)*c[0] - 0.2*c[1] + 0.5*x(200)*c[0] + 0.4*x(300)*c[1] + 0.6*x(10*s+k+400) + 3*x(s+600)
				v := 0.1 + 0.05*float64(k)
				all[j] = append(all[j], Row{s, y, v, c})
				if id != skip {
					if err := b.Row(y, v, c); err != nil {
						t.Fatal(err)
					}
				}
			}
		}
	}
	return b.Data(), all
}

// TestOwnIsHendersons solves the mixed model equations densely: their solution
// is the prediction and their inverse the covariance of its error.
func TestOwnIsHendersons(t *testing.T) {
	const players = 12
	d, rows := twoColumns(t, players, "")
	f, err := d.Fit(context.Background(), Options{})
	if err != nil {
		t.Fatal(err)
	}
	n := 3 + 2*players + 2*players // β, levels, slopes
	A, rhs := mat.NewDense(n, n, nil), mat.NewVecDense(n, nil)
	for j, set := range rows {
		m := d.traits(j)[1]
		for _, r := range set {
			x := make([]float64, n)
			x[0], x[1], x[2] = r.Columns[0], r.Columns[1], r.Columns[0]*m
			x[3+2*j+r.Level] = 1
			x[3+2*players+2*j], x[3+2*players+2*j+1] = r.Columns[0], r.Columns[1]
			w := 1 / (r.V + f.Tau2)
			for i := range x {
				rhs.SetVec(i, rhs.AtVec(i)+w*x[i]*r.Y)
				for k := range x {
					A.Set(i, k, A.At(i, k)+w*x[i]*x[k])
				}
			}
		}
	}
	g := mat.NewDense(2, 2, []float64{f.G[0][0], f.G[0][1], f.G[1][0], f.G[1][1]})
	var gi, inv mat.Dense
	if err := gi.Inverse(g); err != nil {
		t.Fatal(err)
	}
	for j := range players {
		o := 3 + 2*players + 2*j
		for i := range 2 {
			for k := range 2 {
				A.Set(o+i, o+k, A.At(o+i, o+k)+gi.At(i, k))
			}
		}
	}
	if err := inv.Inverse(A); err != nil {
		t.Fatal(err)
	}
	var sol mat.VecDense
	sol.MulVec(&inv, rhs)
	for i, e := range f.Terms {
		if math.Abs(e.Value-sol.AtVec(i)) > 1e-7 || math.Abs(e.SE-math.Sqrt(inv.At(i, i))) > 1e-7 {
			t.Errorf("%s: %v ± %v, densely %v ± %v", e.Name, e.Value, e.SE, sol.AtVec(i), math.Sqrt(inv.At(i, i)))
		}
	}
	for _, j := range []int{0, 5, players - 1} {
		own, err := f.Own(fmt.Sprint("p", j))
		if err != nil {
			t.Fatal(err)
		}
		m := d.traits(j)[1]
		// a's own coefficient is β_a + m·β_am + b_a.
		pick := [2][]float64{make([]float64, n), make([]float64, n)}
		pick[0][0], pick[0][2], pick[0][3+2*players+2*j] = 1, m, 1
		pick[1][1], pick[1][3+2*players+2*j+1] = 1, 1
		for i := range 2 {
			v := mat.NewVecDense(n, pick[i])
			if want := mat.Dot(v, &sol); math.Abs(own.Mean[i]-want) > 1e-7 {
				t.Errorf("player %d, column %d: %v, densely %v", j, i, own.Mean[i], want)
			}
			for k := range 2 {
				var tmp mat.VecDense
				tmp.MulVec(&inv, mat.NewVecDense(n, pick[k]))
				if want := mat.Dot(v, &tmp); math.Abs(own.Cov[i][k]-want) > 1e-7 {
					t.Errorf("player %d, covariance %d %d: %v, densely %v", j, i, k, own.Cov[i][k], want)
				}
			}
		}
	}
}

// A newcomer who then hits trials must end where a fit with those trials and
// the same variances would put that player.
func TestLearnAgreesWithAFit(t *testing.T) {
	const players = 14
	d, rows := twoColumns(t, players, "p13")
	f, err := d.Fit(context.Background(), Options{})
	if err != nil {
		t.Fatal(err)
	}
	full, _ := twoColumns(t, players, "")
	m := full.traits(13)[1]
	before, err := f.Prior().Newcomer([]float64{m})
	if err != nil {
		t.Fatal(err)
	}
	after, err := before.Learn(rows[13])
	if err != nil {
		t.Fatal(err)
	}
	// The same player inside a fit held at the same variances.
	w, _, err := full.prepare(context.Background(), 1)
	if err != nil {
		t.Fatal(err)
	}
	at := point{tau: math.Sqrt(f.Tau2) / w.sc.y, lower: make([]float64, 4)}
	g := []float64{}
	for i := range 2 {
		for k := range 2 {
			g = append(g, f.G[i][k]*w.sc.col[i]*w.sc.col[k]/(w.sc.y*w.sc.y))
		}
	}
	if !cholesky(g, 2) {
		t.Fatal("G is singular here")
	}
	at.lower = []float64{g[0], 0, g[2], g[3]}
	sol, err := w.solve(context.Background(), at)
	if err != nil {
		t.Fatal(err)
	}
	held := &Fit{work: w, final: sol, Scale: 1, Tau2: f.Tau2}
	own, err := held.Own("p13")
	if err != nil {
		t.Fatal(err)
	}
	for i := range 2 {
		if math.Abs(own.Mean[i]-after.Mean[i]) > 1e-7 {
			t.Errorf("mean %d: learned %v, fitted %v", i, after.Mean[i], own.Mean[i])
		}
		for k := range 2 {
			if math.Abs(own.Cov[i][k]-after.Cov[i][k]) > 1e-7 {
				t.Errorf("covariance %d %d: learned %v, fitted %v", i, k, after.Cov[i][k], own.Cov[i][k])
			}
		}
	}
	if _, v := after.Change([]float64{1, 0}); v >= before.Cov[0][0] {
		t.Error("hitting trials taught nothing")
	}
}

func TestOwnSlopesAsInR(t *testing.T) {
	want := readGolden(t)["sleep-full"]
	d, _, err := readTable(t, "sleepstudy.csv", CSVColumns{Player: "Subject", Y: "Reaction", Used: []string{"Days"}}).Data(
		Spec{Intercept: true, Fixed: []string{"Days"}, Random: []string{"1", "Days"}, FullCovariance: true, Variance: Estimated})
	if err != nil {
		t.Fatal(err)
	}
	f, err := d.Fit(context.Background(), Options{})
	if err != nil {
		t.Fatal(err)
	}
	own, err := f.Own("308")
	if err != nil {
		t.Fatal(err)
	}
	for i := range 2 {
		if got := own.Mean[i] - f.Terms[i].Value; !near(got, want[fmt.Sprintf("blup308.%d", i+1)]) {
			t.Errorf("slope %d: %v", i, got)
		}
	}
}

func TestBenjaminiHochbergsOwnExample(t *testing.T) {
	p := []float64{.0001, .0004, .0019, .0095, .0201, .0278, .0298, .0344, .0459, .3240, .4262, .5719, .6528, .7590, 1}
	n := 0
	for _, q := range BenjaminiHochberg(p) {
		if q <= .05 {
			n++
		}
	}
	if want := readGolden(t)["bh"]["rejected"]; float64(n) != want || n != 4 {
		t.Errorf("%d rejected, the authors reject 4, R %v", n, want)
	}
}
