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
	own    int          // active columns that belong to the model; those behind are crossed effects
	extra  []int        // by active column: a crossed effect that is the player's own slope of it, or −1
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
// that are zero throughout. With crossed set, the effects that the player's rows
// share with others' become columns too.
func (b *block) load(d *Data, j int, sc *scales, crossed bool) {
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
	own := len(b.act)
	b.extra = b.extra[:0]
	if b.own = own; crossed && len(d.Crossed) > 0 {
		b.meet(d, j, r0)
	}
	b.l = len(b.act)
	m := b.l + 1
	b.x = need(b.x, b.n*m)
	b.w = need(b.w, b.n)
	perY := 1 / sc.y
	if d.Compact {
		at := d.at[j]
		for i := 0; i < b.n; i++ {
			row, from := b.x[i*m:(i+1)*m], d.narrow[at+i*own:at+(i+1)*own]
			for a, x := range from {
				row[a] = float64(x) * sc.perCol[b.act[a]]
			}
			row[b.l] = float64(d.y32[r0+i]) * perY
			b.w[i] = float64(d.v32[r0+i]) * perY * perY
		}
	} else {
		for i := 0; i < b.n; i++ {
			row, at := b.x[i*m:(i+1)*m], (r0+i)*L
			for a, c := range b.act[:own] {
				row[a] = d.wide[at+c] * sc.perCol[c]
			}
			row[b.l] = d.y[r0+i] * perY
			b.w[i] = d.v[r0+i] * perY * perY
		}
	}
	if b.l > own {
		b.fillCrossed(d, r0)
	}
	b.sess = b.sess[:0]
	for s := s0; s < s1; s++ {
		b.sess = append(b.sess, int(d.session[s+1])-r0)
	}
	if n := d.effects(); len(b.ut) != n {
		b.ut = ones(n) // a crossed effect counts once
	}
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
		// Two rows at a time, so that each sum is fetched once for both.
		i := lo
		for ; i+1 < hi; i += 2 {
			r1, r2 := b.x[i*m:(i+1)*m], b.x[(i+1)*m:(i+2)*m]
			w1, w2 := b.w[i], b.w[i+1]
			b.addRows(r1, r2, w1, w2, b.t)
			switch want {
			case allSquares:
				b.addRows(r1, r2, w1*w1, w2*w2, b.q)
			case liveSquares:
				b.addLive(r1, w1*w1)
				b.addLive(r2, w2*w2)
			}
		}
		if i < hi {
			row, w := b.x[i*m:(i+1)*m], b.w[i]
			b.addRows(row, row, w, 0, b.t)
			switch want {
			case allSquares:
				b.addRows(row, row, w*w, 0, b.q)
			case liveSquares:
				b.addLive(row, w*w)
			}
		}
		lo = hi
	}
	mirror(b.t, m)
	if want != noSquares {
		mirror(b.q, m)
	}
}

// addRows adds w1·r1ᵀr1 + w2·r2ᵀr2 to the upper half of dst.
func (b *block) addRows(r1, r2 []float64, w1, w2 float64, dst []float64) {
	m := len(r1)
	for a := range r1 {
		f1, f2 := w1*r1[a], w2*r2[a]
		if f1 == 0 && f2 == 0 {
			continue
		}
		to := dst[a*m+a : (a+1)*m]
		x1, x2 := r1[a:][:len(to)], r2[a:][:len(to)]
		for c := range to {
			to[c] += f1*x1[c] + f2*x2[c]
		}
	}
}

// addLive adds w·rᵀr between the live slopes to the upper half of q.
func (b *block) addLive(row []float64, w float64) {
	m := len(row)
	for k, a := range b.live {
		f := w * row[a]
		for _, c := range b.live[k:] {
			b.q[a*m+c] += f * row[c]
		}
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
	bm := need(b.tmp[3], r*r)
	b.tmp[3] = bm
	if diag {
		for i, zi := range b.live {
			for k, zk := range b.live[:i+1] {
				bm[i*r+k] = la[i*r+i] * b.t[zi*m+zk] * la[k*r+k]
			}
			bm[i*r+i]++
		}
	} else {
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
		for i := 0; i < r; i++ {
			for k := 0; k <= i; k++ {
				v := 0.0
				for c := 0; c < nz; c++ {
					v += la[c*r+i] * tl[c*r+k]
				}
				bm[i*r+k] = v
			}
			bm[i*r+i]++
		}
	}
	if !cholesky(bm, r) {
		return false
	}
	b.logDet += cholLogDet(bm, r)
	// H = L·B⁻¹·Lᵀ = (C⁻¹Lᵀ)ᵀ(C⁻¹Lᵀ) with B = CCᵀ; forward substitution of
	// each row of L.
	for c := 0; c < nz; c++ {
		row, from := la[c*r:(c+1)*r], 0
		if diag {
			from = c // zero before
		}
		for i := from; i < r; i++ {
			v := row[i]
			for k := from; k < i; k++ {
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
			axpy(dst, b.t[zk*m:(zk+1)*m], f)
		}
	}
	for k, zk := range b.live {
		src, row := b.ht[k*m:(k+1)*m], b.t[zk*m:(zk+1)*m]
		for a := 0; a < m; a++ {
			f := row[a]
			if f == 0 {
				continue
			}
			axpy(b.s[a*m+a:(a+1)*m], src[a:], -f)
		}
	}
	mirror(b.s, m)
	return true
}
