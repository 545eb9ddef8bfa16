package fleet

import "math"

// block is the working space for one player. Everything is in scaled units
// (see scales) and only over the columns that vary in this player's rows: of
// fourteen columns a player typically tried four, and the rest cost nothing.
//
// With D the diagonal of row variances and S the session indicators, M is
// D⁻¹ with the session levels swept out,
//
//	M = D⁻¹ − D⁻¹S(κI + SᵀD⁻¹S)⁻¹SᵀD⁻¹,
//
// where κ = 0 for a free level, 1/v0 for a shared covariance v0 and ∞ without
// either. P = M − MZ·H·ZᵀM with H = (G⁻¹ + ZᵀMZ)⁻¹ is the inverse covariance of
// the player's rows (with free levels, its projection).
type block struct {
	n, l   int       // rows, active columns
	act    []int     // active columns of the model
	zpos   []int     // positions in act whose slope is random
	zidx   []int     // which random slope each of those is
	live   []int     // positions in act of those whose variance is not 0
	lidx   []int     // which random slope each of these is
	x      []float64 // n × (l+1) rows, y last, less their session's weighted mean
	w      []float64 // weight of each row
	inv    []float64 // 1/(κ+W) by session
	sess   []int     // end row by session
	t, q   []float64 // (l+1)²: [A y]ᵀM[A y] and [A y]ᵀMM[A y]
	s      []float64 // (l+1)²: [A y]ᵀP[A y]
	h, ht  []float64 // H and H·ZᵀM[A y], over the live slopes
	trM    float64
	logDet float64   // ln|V|, with free levels + ln|SᵀV⁻¹S|
	ut     []float64 // the player's trait of each coefficient
	uu     []float64 // products of the traits, see cells
	tmp    [6][]float64
	scores [4][]float64 // of players whose squares are not summed yet
	held   int          // how many of them there are
}

// scales hold what a column, a moderator and the outcome are divided by, so
// that all are of order one. Moderator 0 is the constant 1.
type scales struct {
	col, mod       []float64
	perCol, perMod []float64 // their inverses
	y              float64
}

// load copies player j's rows into the block, scaled, dropping the columns
// that are zero throughout.
func (b *block) load(d *Data, j int, sc *scales) {
	L := len(d.Columns)
	s0, s1 := d.player[j], d.player[j+1]
	r0, r1 := int(d.session[s0]), int(d.session[s1])
	b.n = r1 - r0
	b.act, b.zpos, b.zidx = b.act[:0], b.zpos[:0], b.zidx[:0]
	for c := 0; c < L; c++ {
		if d.varies[j]>>min(c, 63)&1 == 0 {
			continue
		}
		if k := d.random[c]; k >= 0 {
			b.zpos = append(b.zpos, len(b.act))
			b.zidx = append(b.zidx, k)
		}
		b.act = append(b.act, c)
	}
	b.l = len(b.act)
	m := b.l + 1
	b.x = need(b.x, b.n*m)
	b.w = need(b.w, b.n)
	perY := 1 / sc.y
	for i := 0; i < b.n; i++ {
		row := b.x[i*m : (i+1)*m]
		at := (r0 + i) * L
		if d.Compact {
			for a, c := range b.act {
				row[a] = float64(d.narrow[at+c]) * sc.perCol[c]
			}
			row[b.l] = float64(d.y32[r0+i]) * perY
			b.w[i] = float64(d.v32[r0+i]) * perY * perY
		} else {
			for a, c := range b.act {
				row[a] = d.wide[at+c] * sc.perCol[c]
			}
			row[b.l] = d.y[r0+i] * perY
			b.w[i] = d.v[r0+i] * perY * perY
		}
	}
	b.sess = b.sess[:0]
	for s := s0; s < s1; s++ {
		b.sess = append(b.sess, int(d.session[s+1])-r0)
	}
	b.ut = need(b.ut, len(d.mod))
	u := d.traits(j)
	for k, mi := range d.mod {
		b.ut[k] = u[mi] * sc.perMod[mi]
	}
	b.uu = b.uu[:0]
	for i, x := range u {
		x *= sc.perMod[i]
		for k := i; k < len(u); k++ {
			b.uu = append(b.uu, x*u[k]*sc.perMod[k])
		}
	}
}

// alive notes which of the player's slopes vary at all: a slope whose row of the
// factor is zero costs nothing then.
func (b *block) alive(lower []float64, q int) {
	b.live, b.lidx = b.live[:0], b.lidx[:0]
	for i, k := range b.zidx {
		for _, v := range lower[k*q : (k+1)*q] {
			if v != 0 {
				b.live, b.lidx = append(b.live, b.zpos[i]), append(b.lidx, k)
				break
			}
		}
	}
}

// squares says how much of [A y]ᵀMM[A y] a sweep gathers.
type squares int

const (
	noSquares   squares = iota
	liveSquares         // between the live slopes
	allSquares
)

// sweep turns known variances into weights, takes the session levels out and
// accumulates t (and q, as far as wanted). With plain set all weights are 1 and
// shared covariances are ignored: that gives XᵀX.
func (b *block) sweep(d *Data, j int, tau2 float64, sc *scales, want squares, plain bool) {
	m := b.l + 1
	b.t, b.q, b.inv = need(b.t, m*m), need(b.q, m*m), need(b.inv, len(b.sess))
	zero(b.t)
	wantQ := want == allSquares
	if want != noSquares {
		zero(b.q)
	}
	b.trM, b.logDet = 0, 0
	mean := need(b.tmp[0], m)
	b.tmp[0] = mean
	lo := 0
	for si, hi := range b.sess {
		W, W2, logs := 0.0, 0.0, 1.0
		for i := lo; i < hi; i++ {
			v := 1.0
			if !plain {
				v = tau2 + b.w[i]
			}
			// One logarithm for many rows: multiply first, while it is safe.
			logs *= v
			if logs < 1e-200 || logs > 1e200 {
				b.logDet += math.Log(logs)
				logs = 1
			}
			w := 1 / v
			b.w[i] = w
			W += w
			W2 += w * w
		}
		b.logDet += math.Log(logs)
		kappa, swept := 0.0, d.SessionLevel
		if !swept && !plain && d.Variance == Shared {
			if v0 := d.shared[int(d.player[j])+si] / (sc.y * sc.y); v0 > 0 {
				kappa, swept = 1/v0, true
			}
		}
		b.inv[si] = 0
		b.trM += W
		if swept {
			inv := 1 / (kappa + W)
			b.inv[si] = inv
			b.trM -= W2 * inv
			if kappa == 0 {
				b.logDet += math.Log(W)
			} else {
				b.logDet += math.Log1p(W / kappa)
			}
			zero(mean)
			for i := lo; i < hi; i++ {
				w := b.w[i] * inv
				for a, x := range b.x[i*m : (i+1)*m] {
					mean[a] += w * x
				}
			}
			for i := lo; i < hi; i++ {
				row := b.x[i*m : (i+1)*m]
				for a := range row {
					row[a] -= mean[a]
				}
			}
			if kappa > 0 {
				for a, x := range mean {
					for c := a; c < m; c++ {
						b.t[a*m+c] += kappa * x * mean[c]
					}
				}
			}
		}
		for i := lo; i < hi; i++ {
			row, w := b.x[i*m:(i+1)*m], b.w[i]
			if want == liveSquares {
				for k, a := range b.live {
					f := w * w * row[a]
					for _, c := range b.live[k:] {
						b.q[a*m+c] += f * row[c]
					}
				}
			}
			for a, x := range row {
				if x == 0 {
					continue
				}
				f := w * x
				rest := row[a:]
				dst := b.t[a*m+a:]
				for c, z := range rest {
					dst[c] += f * z
				}
				if wantQ {
					f *= w
					dst = b.q[a*m+a:]
					for c, z := range rest {
						dst[c] += f * z
					}
				}
			}
		}
		lo = hi
	}
	mirror(b.t, m)
	if want != noSquares {
		mirror(b.q, m)
	}
}

// mirror copies the upper triangle of the m×m matrix into the lower one.
func mirror(a []float64, m int) {
	for i := 1; i < m; i++ {
		for k := 0; k < i; k++ {
			a[i*m+k] = a[k*m+i]
		}
	}
}

// absorb takes the player's random slopes into account: from t it computes H,
// H·ZᵀM[A y] and s, and adds their part to logDet. lower is the factor of the
// slopes' covariance in scaled units, q×q; diag says that it is diagonal. It
// reports false when the numbers left the range of the machine.
func (b *block) absorb(lower []float64, q int, diag bool) bool {
	m, nz := b.l+1, len(b.live)
	b.s = need(b.s, m*m)
	copy(b.s, b.t)
	if nz == 0 {
		return true
	}
	// The rows of L that belong to live slopes, r wide.
	r := nz
	if !diag {
		r = q
	}
	la := need(b.tmp[1], nz*r)
	b.tmp[1] = la
	zero(la)
	for i, k := range b.lidx {
		if diag {
			la[i*r+i] = lower[k*q+k]
		} else {
			copy(la[i*r:(i+1)*r], lower[k*q:(k+1)*q])
		}
	}
	// B = I + LᵀTL is positive definite whatever L is, singular ones included.
	tl := need(b.tmp[2], nz*r)
	b.tmp[2] = tl
	for i, zi := range b.live {
		for k := 0; k < r; k++ {
			v := 0.0
			for c, zc := range b.live {
				v += b.t[zi*m+zc] * la[c*r+k]
			}
			tl[i*r+k] = v
		}
	}
	bm := need(b.tmp[3], r*r)
	b.tmp[3] = bm
	for i := 0; i < r; i++ {
		for k := 0; k <= i; k++ {
			v := 0.0
			for c := 0; c < nz; c++ {
				v += la[c*r+i] * tl[c*r+k]
			}
			bm[i*r+k], bm[k*r+i] = v, v
		}
		bm[i*r+i]++
	}
	if !cholesky(bm, r) {
		return false
	}
	b.logDet += cholLogDet(bm, r)
	// H = L·B⁻¹·Lᵀ = (C⁻¹Lᵀ)ᵀ(C⁻¹Lᵀ) with B = CCᵀ; forward substitution of
	// each row of L.
	for c := 0; c < nz; c++ {
		row := la[c*r : (c+1)*r]
		for i := 0; i < r; i++ {
			v := row[i]
			for k := 0; k < i; k++ {
				v -= bm[i*r+k] * row[k]
			}
			row[i] = v / bm[i*r+i]
		}
	}
	b.h = need(b.h, nz*nz)
	for i := 0; i < nz; i++ {
		for k := 0; k <= i; k++ {
			v := dot(la[i*r:(i+1)*r], la[k*r:(k+1)*r])
			b.h[i*nz+k], b.h[k*nz+i] = v, v
		}
	}
	b.ht = need(b.ht, nz*m)
	zero(b.ht)
	for i := 0; i < nz; i++ {
		dst := b.ht[i*m : (i+1)*m]
		for k, zk := range b.live {
			f := b.h[i*nz+k]
			if f == 0 {
				continue
			}
			src := b.t[zk*m : (zk+1)*m]
			for c, v := range src {
				dst[c] += f * v
			}
		}
	}
	for k, zk := range b.live {
		src, row := b.ht[k*m:(k+1)*m], b.t[zk*m:(zk+1)*m]
		for a := 0; a < m; a++ {
			f := row[a]
			if f == 0 {
				continue
			}
			dst := b.s[a*m+a : (a+1)*m]
			for c, v := range src[a:] {
				dst[c] -= f * v
			}
		}
	}
	mirror(b.s, m)
	return true
}
