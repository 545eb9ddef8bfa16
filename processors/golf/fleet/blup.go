package fleet

import (
	"errors"
	"fmt"
	"slices"
)

// Own returns the belief about a player whose rows are in the fit: the best
// linear unbiased prediction of the player's own coefficients with the
// covariance of its error, the uncertainty of the fixed coefficients included
// (Henderson, Biometrics 31:423, 1975).
//
//	c = Kβ + b      b̂ = G·ZᵀP(y − Xβ̂)
//	Var(ĉ − c) = Ω + G − GZᵀPZG + GFᵀΩFG − ΩFG − (ΩFG)ᵀ,  F = AᵀPZ, Ω = KCKᵀ
func (f *Fit) Own(player string) (*Belief, error) {
	w := f.work
	if w == nil {
		return nil, errors.New("a stored fit holds no rows: use Prior().Newcomer and Learn")
	}
	j, ok := w.find(player)
	if !ok {
		return nil, fmt.Errorf("player %q has no row in this fit: use Prior().Newcomer with the player's traits", player)
	}
	p, q, L := w.effects(), len(w.Random), len(w.Columns)
	var b block
	b.load(w.Data, j, &w.sc, true)
	b.alive(f.final.at.lower, q)
	b.sweep(w.Data, j, f.final.at.tau*f.final.at.tau, &w.sc, noSquares, false)
	if !b.absorb(f.final.at.lower, q, !w.FullCovariance) {
		return nil, errRange
	}
	// Over all columns, in scaled units.
	mean, om := make([]float64, L), square(L)
	for c := 0; c < L; c++ {
		lo, hi := w.start[c], w.start[c+1]
		mean[c] = dot(f.final.beta[lo:hi], b.ut[lo:hi])
		if a := slices.Index(b.act[:b.own], c); a >= 0 && b.extraOf(a) >= 0 {
			mean[c] += f.final.beta[b.extraOf(a)] // what this player's studio does with it
		}
		for e := 0; e < L; e++ {
			lo2, hi2 := w.start[e], w.start[e+1]
			for k := lo; k < hi; k++ {
				om[c][e] += f.Scale * b.ut[k] * dot(f.final.cov[k*p+lo2:k*p+hi2], b.ut[lo2:hi2])
			}
		}
	}
	m := b.l + 1
	h := make([]float64, q)                   // ZᵀPr
	F, zpz := make([][]float64, L), square(q) // AᵀPZ, ZᵀPZ
	for c := range F {
		F[c] = make([]float64, q)
	}
	for i, zi := range b.zpos {
		h[b.zidx[i]] = b.s[zi*m+b.l]
		for a, ca := range b.act[:b.own] {
			h[b.zidx[i]] -= b.s[zi*m+a] * mean[ca]
			F[ca][b.zidx[i]] = b.s[zi*m+a]
		}
		for a := b.own; a < b.l; a++ {
			h[b.zidx[i]] -= b.s[zi*m+a] * f.final.beta[w.start[b.act[a]]]
		}
		for k, zk := range b.zpos {
			zpz[b.zidx[i]][b.zidx[k]] = b.s[zi*m+zk]
		}
	}
	G := square(q)
	for i := range G {
		for k := range G {
			G[i][k] = dot(f.final.at.lower[i*q:(i+1)*q], f.final.at.lower[k*q:(k+1)*q])
		}
	}
	FG := product(F, G)
	OFG := product(om, FG)
	mid := product(transpose(FG), OFG) // GFᵀΩFG
	gzg := product(G, product(zpz, G))
	out := &Belief{Columns: w.Columns, Mean: mean, Cov: om, Tau2: f.Tau2}
	for i, c := range w.Random {
		out.Mean[c] += dot(G[i], h)
		for k, e := range w.Random {
			out.Cov[c][e] += G[i][k] - gzg[i][k] + mid[i][k]
		}
		for e := 0; e < L; e++ {
			out.Cov[c][e] -= OFG[e][i]
			out.Cov[e][c] -= OFG[e][i]
		}
	}
	for c := 0; c < L; c++ {
		out.Mean[c] *= w.sc.y / w.sc.col[c]
		for e := 0; e < L; e++ {
			out.Cov[c][e] *= w.sc.y * w.sc.y / (w.sc.col[c] * w.sc.col[e])
		}
	}
	return out, nil
}

func product(a, b [][]float64) [][]float64 {
	out := make([][]float64, len(a))
	for i := range a {
		if len(b) == 0 {
			continue
		}
		out[i] = make([]float64, len(b[0]))
		for k, x := range a[i] {
			for j, y := range b[k] {
				out[i][j] += x * y
			}
		}
	}
	return out
}

func transpose(a [][]float64) [][]float64 {
	if len(a) == 0 {
		return nil
	}
	out := make([][]float64, len(a[0]))
	for j := range out {
		out[j] = make([]float64, len(a))
		for i := range a {
			out[j][i] = a[i][j]
		}
	}
	return out
}
