package flight

import "math"

// reference is the plainest way to the landing: classical Runge-Kutta with a
// fixed step h over position and velocity, and bisection of the last step. It
// shares only the forces with Simulate. It returns the landing in m and s.
func reference(l Launch, c Conditions, h float64) (carry, offline, hang float64) {
	var p stepper
	p.start(&l, &c)
	s := p.seg.to
	for s.t < longestFlight {
		n := rk4(&p.f, s, h)
		if n.z < c.LandingHeight && (n.vz < 0 || s.vz < 0) {
			lo, hi := 0.0, h
			for range 50 {
				mid := (lo + hi) / 2
				if m := rk4(&p.f, s, mid); m.z < c.LandingHeight {
					hi = mid
				} else {
					lo = mid
				}
			}
			s = rk4(&p.f, s, lo)
			break
		}
		s = n
	}
	windX, windY := c.Wind.vector()
	return s.x + windX*s.t, s.y + windY*s.t, s.t
}

func rk4(f *forces, s state, h float64) state {
	add := func(s state, k state, h float64) state {
		return state{
			t: s.t + h,
			x: s.x + h*k.x, y: s.y + h*k.y, z: s.z + h*k.z,
			vx: s.vx + h*k.vx, vy: s.vy + h*k.vy, vz: s.vz + h*k.vz,
			w: s.w + h*k.w,
		}
	}
	slope := func(s state) state {
		k := f.at(s.vx, s.vy, s.vz, s.w)
		return state{x: s.vx, y: s.vy, z: s.vz, vx: k.ax, vy: k.ay, vz: k.az, w: k.dw}
	}
	k1 := slope(s)
	k2 := slope(add(s, k1, h/2))
	k3 := slope(add(s, k2, h/2))
	k4 := slope(add(s, k3, h))
	n := add(s, k1, h/6)
	n = add(n, k2, h/3)
	n = add(n, k3, h/3)
	n = add(n, k4, h/6)
	n.t = s.t + h
	return n
}

func miss(x, y, cx, cy float64) float64 { return math.Hypot(x-cx, y-cy) }
