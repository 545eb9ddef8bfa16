package fleet

import (
	"fmt"
	"math"
	"slices"
)

// Prior is what a fit hands on to the next player: enough to advise someone
// without the rows it was made from. It can be stored as JSON.
type Prior struct {
	Model Model       `json:"model"`
	Beta  []float64   `json:"beta"` // in the order of Model.Terms
	Cov   [][]float64 `json:"cov"`  // of Beta
	G     [][]float64 `json:"g"`    // of the random slopes, in the order of Model.Random
	Tau2  float64     `json:"tau2"`
}

// Prior returns what the fit learned, in the units of the data.
func (f *Fit) Prior() *Prior {
	p := &Prior{Model: *f.work.Model, Cov: f.Cov, G: f.G, Tau2: f.Tau2}
	for _, t := range f.Terms {
		p.Beta = append(p.Beta, t.Value)
	}
	p.strangers(f)
	return p
}

// strangers adds what the next player meets that the fit has not: a build whose own
// effect is not known differs by one more trial noise, and in a studio never seen a
// slope varies by that much more.
func (p *Prior) strangers(f *Fit) {
	m := f.work.Model
	p.G = square(len(f.G))
	for i := range p.G {
		copy(p.G[i], f.G[i])
	}
	for k, c := range m.Crossed {
		v := f.Crossed[k].SD * f.Crossed[k].SD
		if c.Column < 0 {
			p.Tau2 += v
			continue
		}
		if i := slices.Index(m.Random, c.Column); i >= 0 {
			p.G[i][i] += v
		}
	}
}

// Belief is what is known of one player's own coefficients of the columns of a
// row: normal with Mean and Cov, in the order of Model.Columns.
type Belief struct {
	Columns []string
	Mean    []float64
	Cov     [][]float64
	Tau2    float64
}

// Newcomer is the belief about a player never seen, from traits in the order
// of Model.Moderators: the mean that the traits imply, with the uncertainty of
// the coefficients plus the players' own differences.
func (p *Prior) Newcomer(traits []float64) (*Belief, error) {
	m := &p.Model
	if len(traits) != len(m.Moderators) {
		return nil, fmt.Errorf("%d traits given, the model has %d", len(traits), len(m.Moderators))
	}
	for i, t := range traits {
		if !finite(t) {
			return nil, fmt.Errorf("%s is %v: advice needs a number for every trait of the model", m.Moderators[i], t)
		}
	}
	L := len(m.Columns)
	b := &Belief{Columns: m.Columns, Mean: make([]float64, L), Cov: square(L), Tau2: p.Tau2}
	u := func(t Term) float64 {
		if t.Moderator < 0 {
			return 1
		}
		return traits[t.Moderator]
	}
	for i, t := range m.Terms {
		b.Mean[t.Column] += p.Beta[i] * u(t)
		for k, s := range m.Terms {
			b.Cov[t.Column][s.Column] += p.Cov[i][k] * u(t) * u(s)
		}
	}
	for i, c := range m.Random {
		for k, e := range m.Random {
			b.Cov[c][e] += p.G[i][k]
		}
	}
	return b, nil
}

// Row is one trial of a player for Belief.Learn. Rows with the same Level are
// compared with each other only.
type Row struct {
	Level   int
	Y, V    float64
	Columns []float64
}

// Learn returns the belief after the player's own trials, each level's height
// being unknown. Rows of levels with one row teach nothing.
func (b *Belief) Learn(rows []Row) (*Belief, error) {
	L := len(b.Columns)
	t, r := square(L), make([]float64, L)
	byLevel := map[int][]Row{}
	var levels []int
	for _, row := range rows {
		if len(row.Columns) != L {
			return nil, fmt.Errorf("a row has %d columns, the model %d", len(row.Columns), L)
		}
		if !finite(row.Y) || !finite(row.V) || row.V <= 0 {
			return nil, fmt.Errorf("a row has outcome %v with variance %v; both must be numbers and the variance above 0", row.Y, row.V)
		}
		for c, x := range row.Columns {
			if !finite(x) {
				return nil, fmt.Errorf("a row has %s = %v", b.Columns[c], x)
			}
		}
		if _, ok := byLevel[row.Level]; !ok {
			levels = append(levels, row.Level)
		}
		byLevel[row.Level] = append(byLevel[row.Level], row)
	}
	for _, l := range levels {
		set := byLevel[l]
		W, mean, ybar := 0.0, make([]float64, L), 0.0
		for _, row := range set {
			w := 1 / (row.V + b.Tau2)
			W += w
			ybar += w * row.Y
			for c, x := range row.Columns {
				mean[c] += w * x
			}
		}
		ybar /= W
		for c := range mean {
			mean[c] /= W
		}
		for _, row := range set {
			w := 1 / (row.V + b.Tau2)
			res := row.Y - ybar
			for c, x := range row.Columns {
				res -= (x - mean[c]) * b.Mean[c]
			}
			for c, x := range row.Columns {
				d := w * (x - mean[c])
				if d == 0 {
					continue
				}
				r[c] += d * res
				for e, z := range row.Columns {
					t[c][e] += d * (z - mean[e])
				}
			}
		}
	}
	// Posterior = R(I + RᵀTR)⁻¹Rᵀ with prior covariance RRᵀ, which holds for
	// singular priors too.
	root := semiCholesky(b.Cov)
	bm := make([]float64, L*L)
	for i := 0; i < L; i++ {
		for k := 0; k < L; k++ {
			v := 0.0
			for c := 0; c < L; c++ {
				if root[c][i] == 0 {
					continue
				}
				for e := 0; e < L; e++ {
					v += root[c][i] * t[c][e] * root[e][k]
				}
			}
			bm[i*L+k] = v
		}
		bm[i*L+i]++
	}
	if !cholesky(bm, L) {
		return nil, errRange
	}
	inv := make([]float64, L*L)
	cholInverse(bm, L, inv)
	out := &Belief{Columns: b.Columns, Mean: append([]float64(nil), b.Mean...), Cov: square(L), Tau2: b.Tau2}
	for c := 0; c < L; c++ {
		for e := 0; e < L; e++ {
			v := 0.0
			for i := 0; i < L; i++ {
				for k := 0; k < L; k++ {
					v += root[c][i] * inv[i*L+k] * root[e][k]
				}
			}
			out.Cov[c][e] = v
		}
	}
	for c := 0; c < L; c++ {
		out.Mean[c] += dot(out.Cov[c], r)
	}
	return out, nil
}

// Change is the expected value and the variance of the change of outcome when
// a row's columns move by delta, for this player and apart from trial noise.
func (b *Belief) Change(delta []float64) (mean, variance float64) {
	return dot(b.Mean, delta), max(bilinear(delta, b.Cov, delta), 0)
}

// semiCholesky is a lower factor of a positive semidefinite matrix; directions
// without variance get a column of zeros.
func semiCholesky(a [][]float64) [][]float64 {
	n := len(a)
	l := square(n)
	for j := 0; j < n; j++ {
		d := a[j][j]
		for k := 0; k < j; k++ {
			d -= l[j][k] * l[j][k]
		}
		if d <= 1e-14*a[j][j] {
			continue
		}
		l[j][j] = math.Sqrt(d)
		for i := j + 1; i < n; i++ {
			s := a[i][j]
			for k := 0; k < j; k++ {
				s -= l[i][k] * l[j][k]
			}
			l[i][j] = s / l[j][j]
		}
	}
	return l
}
