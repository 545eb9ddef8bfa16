package flight

import "math"

// reynoldsLimit is where, going down, the lift of a dimpled ball with little
// spin collapses and may even turn round: between Re 5e4 and 7e4 with spin of
// 750 to 2250 rpm, depending on the dimples, while a ball at Re 6.5e4 with
// spin ratio 0.24 still lifts (Lyu, Kensrud and Smith 2020, Sports Eng 23:3,
// doi 10.1007/s12283-020-0318-1).
const (
	reynoldsLimit    = 7e4
	reynoldsGone     = 5e4
	collapseFull     = 0.15 // spin ratio up to which the collapse is complete
	collapseRecovers = 0.25 // spin ratio from which lift is as usual
	collapseTold     = 0.9  // share of the lift that is left below which a flight is flagged
	middleSpeed      = 47.6 // m/s: the models' slow terms are zero here
	slowRound        = 0.09 // what keeps them bounded for a ball at rest
)

// state is a point of the trajectory: x down range, y to the right, z up, in m
// and m/s in a frame that moves with the air; w is the spin in rad/s.
type state struct {
	t          float64
	x, y, z    float64
	vx, vy, vz float64
	w          float64
}

// rate is the time derivative of the velocity and the spin.
type rate struct{ ax, ay, az, dw float64 }

// forces holds the constants of one flight. The wind appears nowhere in it:
// a steady wind is a change of frame.
type forces struct {
	k                   float64 // ½ρA/m, 1/m
	radius              float64 // m
	decay               float64 // spinDecay/r, 1/m
	ox, oy, oz          float64 // unit vector of the spin axis, right positive in y
	drag, lift          [3]float64
	liftScale           float64
	liftPeak            float64 // spin ratio from which the lift stays
	dragOfLift          float64
	slow                bool // drag and lift change with the speed
	slowDrag, slowLift  float64
	smin, smax          float64
	liftSlope           float64 // C_L per S below smin
	vLimit, vGone, vInv float64 // speeds of the Reynolds limits, m/s, and 1/(vLimit-vGone)
}

// newForces prepares the constants. The spin axis is horizontal and at right
// angles to the launch direction, tilted against the horizon by SpinAxis.
func newForces(l *Launch, c *Conditions) forces {
	m := &c.Model
	f := forces{
		k:      0.5 * c.Air.Density * math.Pi * c.Ball.Radius * c.Ball.Radius / c.Ball.Mass,
		radius: c.Ball.Radius,
		decay:  spinDecay / c.Ball.Radius,
		drag:   m.Drag, lift: m.Lift, liftScale: m.LiftScale, smin: m.SMin, smax: m.SMax,
		liftPeak: m.LiftPeak, dragOfLift: m.DragOfLift,
		slow: m.SlowDrag != 0 || m.SlowLift != 0, slowDrag: m.SlowDrag, slowLift: m.SlowLift,
	}
	if f.liftPeak == 0 {
		f.liftPeak = m.SMax
	}
	f.liftSlope = f.liftCoefficient(m.SMin) / m.SMin
	perReynolds := c.Air.Viscosity / (c.Air.Density * 2 * c.Ball.Radius)
	f.vLimit, f.vGone = reynoldsLimit*perReynolds, reynoldsGone*perReynolds
	f.vInv = 1 / (f.vLimit - f.vGone)
	sinDir, cosDir := math.Sincos(l.Direction * math.Pi / 180)
	sinAxis, cosAxis := math.Sincos(l.SpinAxis * math.Pi / 180)
	f.ox, f.oy, f.oz = -cosAxis*sinDir, cosAxis*cosDir, -sinAxis
	return f
}

// liftCoefficient is C_L at a spin ratio within the model's range.
func (f *forces) liftCoefficient(s float64) float64 {
	if f.liftScale > 0 {
		return f.liftScale * powTwoFifths(s)
	}
	s = min(s, f.liftPeak)
	return f.lift[0] + s*(f.lift[1]+s*f.lift[2])
}

// at evaluates the forces at a velocity relative to the air and a spin. The
// direction of lift is that of ω×V whatever the angle between the two.
func (f *forces) at(vx, vy, vz, w float64) rate {
	v2 := vx*vx + vy*vy + vz*vz
	if v2 < 1e-12 { // at rest in the air: only gravity is left
		return rate{az: -Gravity}
	}
	// ω̂×V, written for axes down range, right and up (a left-handed set).
	lx := f.oz*vy - f.oy*vz
	ly := f.ox*vz - f.oz*vx
	lz := f.oy*vx - f.ox*vy
	n2 := lx*lx + ly*ly + lz*lz
	// The roots and quotients do not wait for each other: most of the time
	// spent here is waiting for them.
	v, n := math.Sqrt(v2), math.Sqrt(n2+1e-30)
	s := f.radius * w * (1 / v)
	perCl := f.k * v2 * (1 / n)

	var cl float64
	clamped := s
	switch {
	case s < f.smin:
		cl = f.liftSlope * s
		clamped = f.smin
	case s > f.smax:
		clamped = f.smax
		cl = f.liftCoefficient(clamped)
	default:
		cl = f.liftCoefficient(s)
	}
	cd := f.drag[0] + clamped*(f.drag[1]+clamped*f.drag[2]) + f.dragOfLift*(cl*cl)
	if f.slow {
		r := slowness(v)
		cd += f.slowDrag * r
		cl *= 1 + f.slowLift*r
	}
	if v < f.vLimit && s < collapseRecovers {
		cl *= f.collapse(v, s)
	}

	d := -f.k * v * cd
	var lift float64
	if n2 > 1e-12*v2 {
		lift = perCl * cl
	}
	return rate{
		ax: d*vx + lift*lx,
		ay: d*vy + lift*ly,
		az: d*vz + lift*lz - Gravity,
		dw: -f.decay * w * v,
	}
}

// slowness is what the slow terms of a model go by at a speed in m/s.
func slowness(v float64) float64 {
	const middle = 0.9578262852211513 // 1.09^-½
	x := v * (1 / middleSpeed)
	return 1/math.Sqrt(x*x+slowRound) - middle
}

// collapse is the share of the lift that is left below the Reynolds limit: it
// fades smoothly to none at reynoldsGone for a ball of little spin. The
// reversed lift that some balls show there is not modelled.
func (f *forces) collapse(v, s float64) float64 {
	lost := 1.0
	if v > f.vGone {
		lost = smoothstep((f.vLimit - v) * f.vInv)
	}
	if s > collapseFull {
		lost *= smoothstep((collapseRecovers - s) * (1 / (collapseRecovers - collapseFull)))
	}
	return 1 - lost
}

// smoothstep rises from 0 to 1 over 0..1, with no slope and no curvature at
// either end, so that the integration does not stumble there.
func smoothstep(x float64) float64 { return x * x * x * (10 + x*(6*x-15)) }

// powTwoFifths is s^0.4 for a positive s, to a relative 1e-8: s times the cube
// of s^(-1/5), which Newton's method finds without a division. math.Pow would
// be most of the work of a model with such a power.
func powTwoFifths(s float64) float64 {
	const one = 1023 << 52
	const centre = one/5*6 - 0x5_0000_0000_0000/5
	z := math.Float64frombits(centre - math.Float64bits(s)/5) // within 4 %
	for range 3 {
		z2 := z * z
		z *= 1.2 - 0.2*s*(z2*z2*z)
	}
	return s * (z * z * z)
}
