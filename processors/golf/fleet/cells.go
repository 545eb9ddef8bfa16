package fleet

// cells lay XᵀPX out for adding to it. Columns that carry all traits meet in a
// block s·uuᵀ, the player's traits times themselves: it is symmetric, so that of
// seven traits 28 sums tell its 49 entries. That is the inner loop of a fit.
type cells struct {
	at   []int // by pair of columns a ≤ c: where its sums begin
	kind []cellKind
	size int
}

type cellKind uint8

const (
	anyTraits  cellKind = iota // na × nc sums
	oneEach                    // one sum: no traits on either side
	oneSide                    // as many sums as traits: all on one side, none on the other
	bothTraits                 // all traits on both sides
)

// newCells looks at which traits each column of a plan carries.
func newCells(p *plan) (c cells) {
	L, T := len(p.Columns), 1+len(p.Moderators)
	all, none := make([]bool, L), make([]bool, L)
	for i := range L {
		mods := p.mod[p.start[i]:p.start[i+1]]
		none[i] = len(mods) == 1 && mods[0] == 0
		all[i] = len(mods) == T
		for k, m := range mods {
			all[i] = all[i] && k == m
		}
	}
	c.at, c.kind = make([]int, L*L), make([]cellKind, L*L)
	for i := range L {
		for k := i; k < L; k++ {
			kind, n := anyTraits, (p.start[i+1]-p.start[i])*(p.start[k+1]-p.start[k])
			switch {
			case none[i] && none[k]:
				kind, n = oneEach, 1
			case all[i] && none[k], none[i] && all[k]:
				kind, n = oneSide, T
			case all[i] && all[k]:
				kind, n = bothTraits, T*(T+1)/2
			}
			c.at[i*L+k], c.kind[i*L+k] = c.size, kind
			c.size += n
		}
	}
	return c
}

// addCross adds the player's [A y]ᵀP[A y], held in s, to XᵀPX, laid out in
// cells, and XᵀPy: the coefficients of a column are its entries times the
// player's traits.
func (b *block) addCross(p *plan, s []float64, to *sums) {
	sum, xy := to.cells, to.xy
	m, L, T := b.l+1, len(p.Columns), 1+len(p.Moderators)
	for a, ca := range b.act {
		lo, hi := p.start[ca], p.start[ca+1]
		axpy(xy[lo:hi], b.ut[lo:hi], s[a*m+b.l])
		if e := b.extraOf(a); e >= 0 {
			xy[e] += s[a*m+b.l]
		}
		for c := a; c < b.l; c++ {
			f, cc := s[a*m+c], b.act[c]
			if f == 0 {
				continue
			}
			if len(b.extra) > 0 {
				b.addExtra(p, a, c, f, to.shares)
			}
			if cc >= L {
				b.addShared(p, ca, cc, f, to.shares)
				continue
			}
			at := p.cells.at[ca*L+cc]
			switch p.cells.kind[ca*L+cc] {
			case bothTraits:
				axpy(sum[at:at+len(b.uu)], b.uu, f)
			case oneSide:
				axpy(sum[at:at+T], b.uu, f) // the first of them are 1 times a trait
			case oneEach:
				sum[at] += f
			default:
				n := p.start[cc+1] - p.start[cc]
				for i, u := range b.ut[lo:hi] {
					axpy(sum[at+i*n:at+(i+1)*n], b.ut[p.start[cc]:p.start[cc+1]], f*u)
				}
			}
		}
	}
}

// axpy adds f × src to dst; src may be longer.
func axpy(dst, src []float64, f float64) {
	src = src[:len(dst)]
	for len(dst) >= 4 && len(src) >= 4 {
		d, s := dst[:4:4], src[:4:4]
		d[0] += f * s[0]
		d[1] += f * s[1]
		d[2] += f * s[2]
		d[3] += f * s[3]
		dst, src = dst[4:], src[4:]
	}
	for i, x := range src {
		dst[i] += f * x
	}
}

// unfold writes the sums out as the matrix XᵀPX.
func (c cells) unfold(p *plan, sum []float64) []float64 {
	P, L, T := len(p.mod), len(p.Columns), 1+len(p.Moderators)
	xx := make([]float64, P*P)
	for i := range L {
		for k := i; k < L; k++ {
			at, lo, to := c.at[i*L+k], p.start[i], p.start[k]
			ni, nk := p.start[i+1]-lo, p.start[k+1]-to
			for a := range ni {
				for e := range nk {
					from := at + a*nk + e
					switch c.kind[i*L+k] {
					case bothTraits:
						u, v := min(a, e), max(a, e)
						from = at + u*T - u*(u-1)/2 + v - u
					case oneSide:
						from = at + a + e
					}
					xx[(lo+a)*P+to+e] = sum[from]
				}
			}
		}
	}
	mirror(xx, P)
	return xx
}
