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
	p, q, K := w.effects(), len(w.Random), w.parameters()
	terms := len(w.Terms)
	t, err := w.each(ctx, func() *sums {
		s := &sums{gamma: make([]float64, q*q), omega: make([]float64, q*q), n: make([]float64, K*p), b: make([]float64, K*K)}
		if meat {
			s.meat = make([]float64, terms*terms)
		}
		return s
	}, func(b *block, j int, s *sums) {
		whole := drawn(^j, w.share) // not the players that a smaller w would draw
		want := liveSquares
		if whole {
			want = allSquares
		}
		b.load(w.Data, j, &w.sc, true)
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
		mirror(t.meat, terms)
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
		if e := b.extraOf(a); e >= 0 {
			dst[e] += v
		}
	}
}

// pairs is the average information of a full covariance matrix: the direction
// of entry (i, k) is Z(e_i·h_k + e_k·h_i), or Z·e_i·h_i on the diagonal.
func (b *block) pairs(w *work, s *sums, h, zpg []float64) {
	p, l, m, nz, K := w.effects(), b.l, b.l+1, len(b.zpos), w.parameters()
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
