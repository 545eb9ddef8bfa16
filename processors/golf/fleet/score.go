package fleet

// scoring is what the parts of a player's second pass share.
type scoring struct {
	c        []float64 // coefficients of the player's own columns
	h        []float64 // ZᵀPr
	zpg      []float64 // ZᵀPg with g = Pr
	ag, apg  []float64 // AᵀMg and AᵀPg
	blup     []float64 // H·ZᵀMr, by living slope
	gMg, gPg float64
}

// score adds one player's part of the second pass; whole says that the player
// shares in all sums.
func (b *block) score(w *work, sol *solution, s *sums, meat, whole bool) {
	r := b.residuals(w, sol)
	b.squares(&r, s, whole)
	b.traces(&r, s, len(w.Random))
	if meat {
		b.holdScore(w, &r, s)
	}
	if !whole {
		return
	}
	s.shared++
	b.projected(&r)
	om := b.omega(w, sol)
	b.traceOmega(om, s)
	b.sweptOut(om, s, len(w.Random))
	b.information(w, &r, s)
}

// residuals finds the player's coefficients and h = ZᵀPr, with room for the rest.
func (b *block) residuals(w *work, sol *solution) scoring {
	l, m, nz, nl := b.l, b.l+1, len(b.zpos), len(b.live)
	c := need(b.tmp[0], l)
	b.tmp[0] = c
	for a, ca := range b.act {
		lo, hi := w.start[ca], w.start[ca+1]
		c[a] = dot(sol.beta[lo:hi], b.ut[lo:hi])
		if e := b.extraOf(a); e >= 0 {
			c[a] += sol.beta[e]
		}
	}
	small := need(b.tmp[2], nl+2*nz+2*l)
	b.tmp[2] = small
	r := scoring{c: c, blup: small[:nl], h: small[nl : nl+nz], zpg: small[nl+nz : nl+2*nz], ag: small[nl+2*nz : nl+2*nz+l],
		apg: small[nl+2*nz+l:]}
	zero(r.blup)
	for k, zk := range b.live {
		x := b.t[zk*m+l] - dot(b.t[zk*m:zk*m+l], c)
		for i := range r.blup {
			r.blup[i] += b.h[i*nl+k] * x
		}
	}
	for i, zi := range b.zpos {
		v := b.t[zi*m+l] - dot(b.t[zi*m:zi*m+l], c)
		for k, zk := range b.live {
			v -= b.t[zi*m+zk] * r.blup[k]
		}
		r.h[i] = v
	}
	return r
}

// squares goes over the rows: gᵀg, and for a player who shares in all sums AᵀMg
// and gᵀMg.
func (b *block) squares(r *scoring, s *sums, whole bool) {
	l, m := b.l, b.l+1
	// The slopes as this player has them.
	for k, zk := range b.live {
		r.c[zk] += r.blup[k]
	}
	zero(r.ag)
	lo := 0
	for si, hi := range b.sess {
		wg := 0.0
		for i := lo; i < hi; i++ {
			row := b.x[i*m : (i+1)*m]
			g := b.w[i] * (row[l] - dot(row[:l], r.c))
			s.gg += g * g
			if whole {
				f := b.w[i] * g
				wg += f
				r.gMg += f * g
				axpy(r.ag, row, f)
			}
		}
		r.gMg -= wg * wg * b.inv[si]
		lo = hi
	}
	for k, zk := range b.live {
		r.c[zk] -= r.blup[k]
	}
}

// traces adds tr P and Γ = ZᵀPZ − FᵀΩF − hhᵀ without the middle part, with F = AᵀPZ.
func (b *block) traces(r *scoring, s *sums, q int) {
	m, nl := b.l+1, len(b.live)
	s.trP += b.trM
	for i, zi := range b.live {
		for k, zk := range b.live {
			s.trP -= b.h[i*nl+k] * b.q[zi*m+zk]
		}
	}
	for i, zi := range b.zpos {
		for k := 0; k <= i; k++ {
			v := b.s[zi*m+b.zpos[k]] - r.h[i]*r.h[k]
			s.gamma[b.zidx[i]*q+b.zidx[k]] += v
			if i != k {
				s.gamma[b.zidx[k]*q+b.zidx[i]] += v
			}
		}
	}
}

// holdScore keeps X_jᵀP_jr_j, from [A y]ᵀP[A y]; its outer product is the player's
// share of the clustered covariance.
func (b *block) holdScore(w *work, r *scoring, s *sums) {
	l, m := b.l, b.l+1
	b.scores[b.held] = need(b.scores[b.held], len(w.Terms))
	sc := b.scores[b.held]
	b.held++
	zero(sc)
	for a, ca := range b.act[:b.own] {
		lo, hi := w.start[ca], w.start[ca+1]
		axpy(sc[lo:hi], b.ut[lo:hi], b.s[a*m+l]-dot(b.s[a*m:a*m+l], r.c))
	}
	if b.held == len(b.scores) {
		b.addScores(s)
	}
}

// projected finds AᵀPg = AᵀMg − AᵀMZ·H·ZᵀMg and gᵀPg, with g = Pr.
func (b *block) projected(r *scoring) {
	l, m, nl := b.l, b.l+1, len(b.live)
	r.gPg = r.gMg
	copy(r.apg, r.ag)
	for i, zi := range b.live {
		f := 0.0
		for k, zk := range b.live {
			f += b.h[i*nl+k] * r.ag[zk]
		}
		r.gPg -= f * r.ag[zi]
		axpy(r.apg, b.t[zi*m:zi*m+l], -f)
	}
	for i, zi := range b.zpos {
		r.zpg[i] = r.apg[zi]
	}
}

// omega is Ω, the covariance of the player's own coefficients.
func (b *block) omega(w *work, sol *solution) []float64 {
	l, p := b.l, w.effects()
	om := need(b.tmp[1], l*l)
	b.tmp[1] = om
	for a, ca := range b.act {
		lo, hi := w.start[ca], w.start[ca+1]
		for e := a; e < l; e++ {
			lo2, hi2 := w.start[b.act[e]], w.start[b.act[e]+1]
			v, more, other := 0.0, b.extraOf(a), b.extraOf(e)
			for k := lo; k < hi; k++ {
				if b.ut[k] != 0 {
					v += b.ut[k] * dot(sol.cov[k*p+lo2:k*p+hi2], b.ut[lo2:hi2])
					if other >= 0 {
						v += b.ut[k] * sol.cov[k*p+other]
					}
				}
			}
			if more >= 0 {
				v += dot(sol.cov[more*p+lo2:more*p+hi2], b.ut[lo2:hi2])
				if other >= 0 {
					v += sol.cov[more*p+other]
				}
			}
			om[a*l+e], om[e*l+a] = v, v
		}
	}
	return om
}

// traceOmega adds tr(Ω·AᵀPPA).
func (b *block) traceOmega(om []float64, s *sums) {
	l, m := b.l, b.l+1
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
}

// sweptOut adds FᵀΩF.
func (b *block) sweptOut(om []float64, s *sums, q int) {
	l, m := b.l, b.l+1
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
}

// information adds to the average information: f_0 = g for τ², Z·E_k·h for an
// entry of G.
func (b *block) information(w *work, r *scoring, s *sums) {
	p, l, m, K := w.effects(), b.l, b.l+1, w.parameters()
	b.spread(w.plan, r.apg, s.n[:p], 1)
	s.b[0] += r.gPg
	if w.FullCovariance {
		b.pairs(w, s, r.h, r.zpg)
		return
	}
	for i, zi := range b.zpos {
		k := 1 + b.zidx[i]
		b.spread(w.plan, b.s[zi*m:zi*m+l], s.n[k*p:(k+1)*p], r.h[i])
		s.b[k*K] += r.zpg[i] * r.h[i]
		for e := 0; e <= i; e++ {
			k2 := 1 + b.zidx[e]
			s.b[max(k, k2)*K+min(k, k2)] += r.h[i] * r.h[e] * b.s[zi*m+b.zpos[e]]
		}
	}
}
