package fleet

import (
	"fmt"
	"slices"
)

// Crossing is a set of effects that rows of many players share: one a level of a
// factor, normal with a variance of its own. With Column −1 it is the level's
// height (what a build does beyond its figures); else the level's own slope of
// that column (what half an inch does more in one studio than in the next), for a
// factor that does not change between rows that are compared.
//
// Players who hit the same thirty builds are no independent witnesses of what
// length does: without the builds' own effects an interval narrows with the
// players, and with them it does so with the builds.
type Crossing struct {
	Factor int
	Column int
	Levels int
}

// CrossingName is how a crossing is called: the factor, or factor:column.
func (m *Model) CrossingName(c Crossing) string {
	if c.Column < 0 {
		return m.Factors[c.Factor]
	}
	return m.Factors[c.Factor] + ":" + m.Columns[c.Column]
}

// Heights is of how many levels of a factor the model has an effect of their own;
// 0 where it has none.
func (m *Model) Heights(factor string) int {
	for _, c := range m.Crossed {
		if c.Column < 0 && m.Factors[c.Factor] == factor {
			return c.Levels
		}
	}
	return 0
}

// known refuses levels that the model does not have.
func (d *Data) known(levels []int32) error {
	if len(levels) != len(d.Factors) {
		return fmt.Errorf("player %q: %d levels given, the model has %d factors", d.ids[len(d.ids)-1], len(levels), len(d.Factors))
	}
	for _, c := range d.Crossed {
		if l := levels[c.Factor]; l < -1 || int(l) >= c.Levels {
			return fmt.Errorf("player %q: level %d of %s does not exist", d.ids[len(d.ids)-1], l, d.Factors[c.Factor])
		}
	}
	return nil
}

// meet adds to the active columns the crossed effects that the player's rows
// have a part in.
func (b *block) meet(d *Data, j, r0 int) {
	L, own, F := len(d.Columns), len(b.act), len(d.Factors)
	b.extra = b.extra[:0]
	for range own {
		b.extra = append(b.extra, -1)
	}
	for k, c := range d.Crossed {
		if c.Column >= 0 {
			at := slices.Index(b.act[:own], c.Column)
			if at < 0 {
				continue
			}
			// Who stays in one studio has its slope: the column itself, once more.
			if level, same := d.oneLevel(c.Factor, r0, b.n); same && b.extra[at] < 0 {
				if level >= 0 {
					b.extra[at] = len(d.Terms) + d.first[k] + int(level)
				}
				continue
			}
		}
		for i := range b.n {
			level := d.levels[(r0+i)*F+c.Factor]
			if id := L + d.first[k] + int(level); level >= 0 && !slices.Contains(b.act[own:], id) {
				b.act = append(b.act, id)
			}
		}
	}
}

// oneLevel is the level of a factor that n rows have, if they all have the same.
func (d *Data) oneLevel(factor, r0, n int) (int32, bool) {
	F := len(d.Factors)
	level := d.levels[r0*F+factor]
	for i := r0 + 1; i < r0+n; i++ {
		if d.levels[i*F+factor] != level {
			return 0, false
		}
	}
	return level, true
}

// fillCrossed writes the columns that meet has added.
func (b *block) fillCrossed(d *Data, r0 int) {
	L, m, F := len(d.Columns), b.l+1, len(d.Factors)
	at := b.own
	for at < b.l {
		// The columns of one crossing stand together.
		k, _ := slices.BinarySearch(d.first, b.act[at]-L+1)
		k--
		c, to := d.Crossed[k], at+1
		for to < b.l && b.act[to]-L < d.first[k+1] {
			to++
		}
		from := slices.Index(b.act[:b.own], c.Column)
		for i := range b.n {
			row := b.x[i*m : (i+1)*m]
			zero(row[at:to])
			level := d.levels[(r0+i)*F+c.Factor]
			if level < 0 {
				continue
			}
			a := at + slices.Index(b.act[at:to], L+d.first[k]+int(level))
			if row[a] = 1; c.Column >= 0 {
				row[a] = row[from]
			}
		}
		at = to
	}
}

// wholeFleet are the effects without the slopes that levels have of their own: what
// a level is held against.
func (w *work) wholeFleet(beta []float64) []float64 {
	out := slices.Clone(beta)
	for k, c := range w.Crossed {
		if c.Column >= 0 {
			zero(out[len(w.Terms)+w.first[k] : len(w.Terms)+w.first[k+1]])
		}
	}
	return out
}

// addShared adds f, a player's entry of AᵀPA, to XᵀPX where the second column is
// a crossed effect; dst has a row for each of those, over all effects.
func (b *block) addShared(p *plan, ca, cc int, f float64, dst []float64) {
	L, all := len(p.Columns), p.effects()
	lo, hi := p.start[ca], p.start[ca+1]
	row := cc - L
	if ca > cc {
		lo, hi, row = p.start[cc], p.start[cc+1], ca-L
	}
	axpy(dst[row*all+lo:row*all+hi], b.ut[lo:hi], f)
}

// addExtra adds f, the player's entry of AᵀPA for the active columns a ≤ c, where one
// of them or both have a crossed effect as a slope.
func (b *block) addExtra(p *plan, a, c int, f float64, dst []float64) {
	all, terms := p.effects(), len(p.Terms)
	add := func(effect, column int) { // an extra effect against a column's own coefficients
		lo, hi := p.start[b.act[column]], p.start[b.act[column]+1]
		if lo < terms {
			row := effect - terms
			axpy(dst[row*all+lo:row*all+hi], b.ut[lo:hi], f)
			return
		}
		dst[(max(effect, lo)-terms)*all+min(effect, lo)] += f
	}
	ea, ec := b.extraOf(a), b.extraOf(c)
	if ea >= 0 {
		add(ea, c)
	}
	if ec >= 0 && a != c {
		add(ec, a)
	}
	if ea >= 0 && ec >= 0 {
		dst[(max(ea, ec)-terms)*all+min(ea, ec)] += f
	}
}

// extraOf is the crossed effect that is the slope of an active column, or −1.
func (b *block) extraOf(a int) int {
	if a >= len(b.extra) {
		return -1
	}
	return b.extra[a]
}

// widen puts XᵀPX together: xx of the p terms, and the rows of the crossed effects
// behind them.
func widen(xx, shares []float64, p, more int) []float64 {
	if more == 0 {
		return xx
	}
	n := p + more
	out := make([]float64, n*n)
	for i := range p {
		copy(out[i*n:i*n+p], xx[i*p:(i+1)*p])
	}
	for i := range more {
		for k, v := range shares[i*n : i*n+p+i+1] {
			out[(p+i)*n+k], out[k*n+p+i] = v, v
		}
	}
	return out
}
