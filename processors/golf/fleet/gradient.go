package fleet

import "context"

// slope is the gradient of −2 × the restricted log likelihood in the natural
// variance parameters, with the average-information matrix
// (Gilmour, Thompson & Cullis, Biometrics 51:1440, 1995) as its Hessian:
//
//	∂/∂θ_k  = tr(P̃V_k) − yᵀP̃V_kP̃y
//	average = yᵀP̃V_kP̃V_lP̃y
//
// where P̃ is P with the fixed terms swept out as well and V_k = ∂V/∂θ_k. The
// parameters are τ² and then the entries of G: its diagonal, or its lower
// triangle by rows.
//
// Of very many rows, what the fixed terms sweep out and the average information
// are summed over a share of the players (work.share) and scaled up. The first
// is p of as many units as there are rows, known then to a hundredth: it moves a
// variance by less than a thousandth of its standard error. The second only
// steers the search.
type slope struct {
	tau   float64   // ∂/∂τ²
	gamma []float64 // q×q, ∂/∂G as a matrix: d = tr(gamma·dG)
	info  []float64 // parameters²
	meat  []float64 // Σ_players (X_jᵀP_jr_j)(…)ᵀ
}

// parameters counts τ² and the free entries of G.
func (w *work) parameters() int {
	_, v := w.Params()
	return v
}

// gradient is the second pass: it needs the solution of the first.
func (w *work) gradient(ctx context.Context, sol *solution, meat bool) (*slope, error) {
	p, q, K := len(w.Terms), len(w.Random), w.parameters()
	t, err := w.each(ctx, func() *sums {
		s := &sums{gamma: make([]float64, q*q), omega: make([]float64, q*q), n: make([]float64, K*p), b: make([]float64, K*K)}
		if meat {
			s.meat = make([]float64, p*p)
		}
		return s
	}, func(b *block, j int, s *sums) {
		whole := drawn(^j, w.share) // not the players that a smaller w would draw
		want := liveSquares
		if whole {
			want = allSquares
		}
		b.load(w.Data, j, &w.sc)
		b.alive(sol.at.lower, q)
		b.sweep(w.Data, j, sol.at.tau*sol.at.tau, &w.sc, want, false)
		if !b.absorb(sol.at.lower, q, !w.FullCovariance) {
			s.bad = true
			return
		}
		b.score(w, sol, s, meat, whole)
	}, (*block).addScores)
	if err != nil {
		return nil, err
	}
	scale := 1.0
	if w.share > 1 && t.shared > 0 {
		scale = float64(t.players) / float64(t.shared)
	}
	for _, part := range [][]float64{t.omega, t.n, t.b} {
		for i := range part {
			part[i] *= scale
		}
	}
	for i := range t.gamma {
		t.gamma[i] -= t.omega[i]
	}
	if meat {
		mirror(t.meat, p)
	}
	g := &slope{tau: t.trP - scale*t.trOmega - t.gg, gamma: t.gamma, info: make([]float64, K*K), meat: t.meat}
	// average = B − N·(XᵀPX)⁻¹·Nᵀ
	for k := 0; k < K; k++ {
		nk := t.n[k*p : (k+1)*p]
		cn := make([]float64, p)
		for i := range cn {
			cn[i] = dot(sol.cov[i*p:(i+1)*p], nk)
		}
		for l := 0; l <= k; l++ {
			v := t.b[k*K+l] - dot(cn, t.n[l*p:(l+1)*p])
			g.info[k*K+l], g.info[l*K+k] = v, v
		}
	}
	return g, nil
}

// score adds one player's part of the second pass; whole says that the player
// shares in all sums.
func (b *block) score(w *work, sol *solution, s *sums, meat, whole bool) {
	p, l, m, q, K := len(w.Terms), b.l, b.l+1, len(w.Random), w.parameters()
	nz, nl := len(b.zpos), len(b.live)
	// Coefficients of the player's own columns.
	c := need(b.tmp[0], l)
	b.tmp[0] = c
	for a, ca := range b.act {
		lo, hi := w.start[ca], w.start[ca+1]
		c[a] = dot(sol.beta[lo:hi], b.ut[lo:hi])
	}

	// Residuals: h = ZᵀPr, blup = H·ZᵀMr, and Pr row by row.
	small := need(b.tmp[2], nl+2*nz+2*l)
	b.tmp[2] = small
	blup, h, zpg := small[:nl], small[nl:nl+nz], small[nl+nz:nl+2*nz]
	ag, apg := small[nl+2*nz:nl+2*nz+l], small[nl+2*nz+l:]
	zero(blup)
	for k, zk := range b.live {
		r := b.t[zk*m+l] - dot(b.t[zk*m:zk*m+l], c)
		for i := range blup {
			blup[i] += b.h[i*nl+k] * r
		}
	}
	for i, zi := range b.zpos {
		v := b.t[zi*m+l] - dot(b.t[zi*m:zi*m+l], c)
		for k, zk := range b.live {
			v -= b.t[zi*m+zk] * blup[k]
		}
		h[i] = v
	}
	// The slopes as this player has them.
	for k, zk := range b.live {
		c[zk] += blup[k]
	}
	zero(ag)
	gMg, lo := 0.0, 0
	for si, hi := range b.sess {
		wg := 0.0
		for i := lo; i < hi; i++ {
			row := b.x[i*m : (i+1)*m]
			g := b.w[i] * (row[l] - dot(row[:l], c))
			s.gg += g * g
			if whole {
				f := b.w[i] * g
				wg += f
				gMg += f * g
				axpy(ag, row, f)
			}
		}
		gMg -= wg * wg * b.inv[si]
		lo = hi
	}
	for k, zk := range b.live {
		c[zk] -= blup[k]
	}
	s.trP += b.trM
	for i, zi := range b.live {
		for k, zk := range b.live {
			s.trP -= b.h[i*nl+k] * b.q[zi*m+zk]
		}
	}
	// Γ = ZᵀPZ − FᵀΩF − hhᵀ with F = AᵀPZ.
	for i, zi := range b.zpos {
		for k := 0; k <= i; k++ {
			v := b.s[zi*m+b.zpos[k]] - h[i]*h[k]
			s.gamma[b.zidx[i]*q+b.zidx[k]] += v
			if i != k {
				s.gamma[b.zidx[k]*q+b.zidx[i]] += v
			}
		}
	}
	if meat {
		// X_jᵀP_jr_j from [A y]ᵀP[A y]; its outer product is the player's
		// share of the clustered covariance.
		b.scores[b.held] = need(b.scores[b.held], p)
		sc := b.scores[b.held]
		b.held++
		zero(sc)
		for a, ca := range b.act {
			lo, hi := w.start[ca], w.start[ca+1]
			axpy(sc[lo:hi], b.ut[lo:hi], b.s[a*m+l]-dot(b.s[a*m:a*m+l], c))
		}
		if b.held == len(b.scores) {
			b.addScores(s)
		}
	}
	if !whole {
		return
	}
	s.shared++

	// With g = Pr: AᵀPg = AᵀMg − AᵀMZ·H·ZᵀMg and gᵀPg.
	gPg := gMg
	copy(apg, ag)
	for i, zi := range b.live {
		f := 0.0
		for k, zk := range b.live {
			f += b.h[i*nl+k] * ag[zk]
		}
		gPg -= f * ag[zi]
		axpy(apg, b.t[zi*m:zi*m+l], -f)
	}
	for i, zi := range b.zpos {
		zpg[i] = apg[zi]
	}

	// Ω, the covariance of the player's own coefficients, and tr(Ω·AᵀPPA).
	om := need(b.tmp[1], l*l)
	b.tmp[1] = om
	for a, ca := range b.act {
		lo, hi := w.start[ca], w.start[ca+1]
		for e := a; e < l; e++ {
			lo2, hi2 := w.start[b.act[e]], w.start[b.act[e]+1]
			v := 0.0
			for k := lo; k < hi; k++ {
				if b.ut[k] != 0 {
					v += b.ut[k] * dot(sol.cov[k*p+lo2:k*p+hi2], b.ut[lo2:hi2])
				}
			}
			om[a*l+e], om[e*l+a] = v, v
		}
	}
	tr := 0.0
	for a := 0; a < l; a++ {
		tr += dot(om[a*l:(a+1)*l], b.q[a*m:a*m+l])
		// AᵀPPA = Q − R·HT − (R·HT)ᵀ with R = QZ − ½HTᵀ·ZᵀQZ.
		for i, zi := range b.live {
			r := b.q[a*m+zi]
			for k, zk := range b.live {
				r -= 0.5 * b.ht[k*m+a] * b.q[zk*m+zi]
			}
			tr -= 2 * r * dot(om[a*l:(a+1)*l], b.ht[i*m:i*m+l])
		}
	}
	s.trOmega += tr
	of := need(b.tmp[3], l)
	b.tmp[3] = of
	for i, zi := range b.zpos {
		fi := b.s[zi*m : zi*m+l]
		for a := range of {
			of[a] = dot(om[a*l:(a+1)*l], fi)
		}
		for k := 0; k <= i; k++ {
			zk := b.zpos[k]
			v := dot(of, b.s[zk*m:zk*m+l])
			s.omega[b.zidx[i]*q+b.zidx[k]] += v
			if i != k {
				s.omega[b.zidx[k]*q+b.zidx[i]] += v
			}
		}
	}

	// Average information: f_0 = g for τ², Z·E_k·h for an entry of G.
	b.spread(w.plan, apg, s.n[:p], 1)
	s.b[0] += gPg
	if w.FullCovariance {
		b.pairs(w, s, h, zpg)
		return
	}
	for i, zi := range b.zpos {
		k := 1 + b.zidx[i]
		b.spread(w.plan, b.s[zi*m:zi*m+l], s.n[k*p:(k+1)*p], h[i])
		s.b[k*K] += zpg[i] * h[i]
		for e := 0; e <= i; e++ {
			k2 := 1 + b.zidx[e]
			s.b[max(k, k2)*K+min(k, k2)] += h[i] * h[e] * b.s[zi*m+b.zpos[e]]
		}
	}
}

// addScores adds the squares of the scores held back, upper half: four players
// at a time, so that each sum is fetched once for all.
func (b *block) addScores(s *sums) {
	if b.held == 0 {
		return
	}
	p := len(b.scores[0])
	for i := b.held; i < len(b.scores); i++ {
		b.scores[i] = need(b.scores[i], p)
		zero(b.scores[i])
	}
	b.held = 0
	for i := range p {
		s0, s1, s2, s3 := b.scores[0][i:p], b.scores[1][i:p], b.scores[2][i:p], b.scores[3][i:p]
		f0, f1, f2, f3 := s0[0], s1[0], s2[0], s3[0]
		if f0 == 0 && f1 == 0 && f2 == 0 && f3 == 0 {
			continue
		}
		dst := s.meat[i*p+i : (i+1)*p]
		s0, s1, s2, s3 = s0[:len(dst)], s1[:len(dst)], s2[:len(dst)], s3[:len(dst)]
		for k := range dst {
			dst[k] += f0*s0[k] + f1*s1[k] + f2*s2[k] + f3*s3[k]
		}
	}
}

// spread adds f × vec, given by active column, to coefficients in dst.
func (b *block) spread(p *plan, vec, dst []float64, f float64) {
	for a, ca := range b.act {
		v := vec[a] * f
		if v == 0 {
			continue
		}
		for k := p.start[ca]; k < p.start[ca+1]; k++ {
			dst[k] += v * b.ut[k]
		}
	}
}

// pairs is the average information of a full covariance matrix: the direction
// of entry (i, k) is Z(e_i·h_k + e_k·h_i), or Z·e_i·h_i on the diagonal.
func (b *block) pairs(w *work, s *sums, h, zpg []float64) {
	p, l, m, nz, K := len(w.Terms), b.l, b.l+1, len(b.zpos), w.parameters()
	type dir struct {
		k    int
		i, j int
		a, b float64 // coefficient of e_i and of e_j
	}
	dirs := make([]dir, 0, nz*(nz+1)/2)
	for i := 0; i < nz; i++ {
		for k := 0; k <= i; k++ {
			r, c := max(b.zidx[i], b.zidx[k]), min(b.zidx[i], b.zidx[k])
			d := dir{k: 1 + r*(r+1)/2 + c, i: i, j: k, a: h[k], b: h[i]}
			if i == k {
				d.b = 0
			}
			dirs = append(dirs, d)
		}
	}
	for x, d := range dirs {
		zi, zj := b.zpos[d.i], b.zpos[d.j]
		row := s.n[d.k*p : (d.k+1)*p]
		b.spread(w.plan, b.s[zi*m:zi*m+l], row, d.a)
		if d.b != 0 {
			b.spread(w.plan, b.s[zj*m:zj*m+l], row, d.b)
		}
		s.b[d.k*K] += zpg[d.i]*d.a + zpg[d.j]*d.b
		for _, e := range dirs[:x+1] {
			yi, yj := b.zpos[e.i], b.zpos[e.j]
			v := d.a*e.a*b.s[zi*m+yi] + d.a*e.b*b.s[zi*m+yj] +
				d.b*e.a*b.s[zj*m+yi] + d.b*e.b*b.s[zj*m+yj]
			hi, lo := max(d.k, e.k), min(d.k, e.k)
			s.b[hi*K+lo] += v
		}
	}
}
