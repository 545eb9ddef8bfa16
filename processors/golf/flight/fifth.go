package flight

// fifth is the polynomial of fifth degree on 0..1 with given value, slope and curvature at
// both ends: one coordinate of the trajectory over one step, as accurate as
// the step itself.
type fifth struct{ c0, c1, c2, c3, c4, c5 float64 }

// newFifth takes positions, velocities and accelerations at both ends of a
// step of length h.
func newFifth(h, p0, v0, a0, p1, v1, a1 float64) fifth {
	v0, v1 = v0*h, v1*h
	a0, a1 = a0*h*h, a1*h*h
	d := p1 - p0
	return fifth{
		c0: p0, c1: v0, c2: a0 / 2,
		c3: 10*d - 6*v0 - 4*v1 - 1.5*a0 + 0.5*a1,
		c4: -15*d + 8*v0 + 7*v1 + 1.5*a0 - a1,
		c5: 6*d - 3*v0 - 3*v1 - 0.5*a0 + 0.5*a1,
	}
}

func (q *fifth) at(u float64) float64 {
	return q.c0 + u*(q.c1+u*(q.c2+u*(q.c3+u*(q.c4+u*q.c5))))
}

func (q *fifth) slope(u float64) float64 {
	return q.c1 + u*(2*q.c2+u*(3*q.c3+u*(4*q.c4+u*5*q.c5)))
}

// root finds where the polynomial minus level crosses zero between lo and hi,
// at which it has opposite signs, by Newton's method kept inside the bracket.
func (q *fifth) root(level, lo, hi float64) float64 {
	rising := q.at(hi) > level
	u := 0.5 * (lo + hi)
	for range 60 {
		p := q.at(u) - level
		if (p > 0) == rising {
			hi = u
		} else {
			lo = u
		}
		next := u - p/q.slope(u)
		if !(next > lo && next < hi) {
			next = 0.5 * (lo + hi)
		}
		if d := next - u; d < 1e-12 && d > -1e-12 {
			return next
		}
		u = next
	}
	return u
}

// turn finds where the slope crosses zero between lo and hi, at which the
// slope has opposite signs.
func (q *fifth) turn(lo, hi float64) float64 {
	slope := fifth{c0: q.c1, c1: 2 * q.c2, c2: 3 * q.c3, c3: 4 * q.c4, c4: 5 * q.c5}
	return slope.root(0, lo, hi)
}

// along gives the polynomials of fifth degree of the three coordinates over a segment.
func (g *segment) along() (x, y, z fifth) {
	h := g.to.t - g.from.t
	x = newFifth(h, g.from.x, g.from.vx, g.kFrom.ax, g.to.x, g.to.vx, g.kTo.ax)
	y = newFifth(h, g.from.y, g.from.vy, g.kFrom.ay, g.to.y, g.to.vy, g.kTo.ay)
	z = g.height()
	return x, y, z
}

// height is that of z alone.
func (g *segment) height() fifth {
	h := g.to.t - g.from.t
	return newFifth(h, g.from.z, g.from.vz, g.kFrom.az, g.to.z, g.to.vz, g.kTo.az)
}

// state interpolates the segment at u in 0..1. The spin needs only its two
// ends and slopes.
func (g *segment) at(u float64) state {
	h := g.to.t - g.from.t
	x, y, z := g.along()
	a, b := g.from.w, g.to.w
	sa, sb := g.kFrom.dw*h, g.kTo.dw*h
	w := a + u*(sa+u*(3*(b-a)-2*sa-sb+u*(2*(a-b)+sa+sb)))
	return state{
		t: g.from.t + u*h,
		x: x.at(u), y: y.at(u), z: z.at(u),
		vx: x.slope(u) / h, vy: y.slope(u) / h, vz: z.slope(u) / h,
		w: w,
	}
}
