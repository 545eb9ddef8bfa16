package flight

import "math"

// The pair of order 5(4) by Tsitouras (2011, Comput. Math. Appl. 62:770). Its
// last stage is the next step's first, so an accepted step costs six
// evaluations of the forces.
const (
	a21 = 0.161
	a31 = -0.008480655492356989
	a32 = 0.335480655492357
	a41 = 2.8971530571054935
	a42 = -6.359448489975075
	a43 = 4.3622954328695815
	a51 = 5.325864828439257
	a52 = -11.748883564062828
	a53 = 7.4955393428898365
	a54 = -0.09249506636175525
	a61 = 5.86145544294642
	a62 = -12.92096931784711
	a63 = 8.159367898576159
	a64 = -0.071584973281401
	a65 = -0.028269050394068383
	b1  = 0.09646076681806523
	b2  = 0.01
	b3  = 0.4798896504144996
	b4  = 1.379008574103742
	b5  = -3.290069515436081
	b6  = 2.324710524099774
	e1  = -0.00178001105222577714
	e2  = -0.0008164344596567469
	e3  = 0.007880878010261995
	e4  = -0.1447110071732629
	e5  = 0.5823571654525552
	e6  = -0.45808210592918697
	e7  = 0.015151515151515152
)

// step advances s by h. Positions do not enter the forces, so they are plain
// quadratures of the stages' velocities. It returns the new state, the rate
// there, and the size in m/s of the velocity's error over the step.
func (f *forces) step(s *state, k1 *rate, h float64, out *state, k7 *rate) (velocityError float64) {
	vx2, vy2, vz2 := s.vx+h*a21*k1.ax, s.vy+h*a21*k1.ay, s.vz+h*a21*k1.az
	k2 := f.at(vx2, vy2, vz2, s.w+h*a21*k1.dw)

	vx3, vy3, vz3 := s.vx+h*(a31*k1.ax+a32*k2.ax), s.vy+h*(a31*k1.ay+a32*k2.ay), s.vz+h*(a31*k1.az+a32*k2.az)
	k3 := f.at(vx3, vy3, vz3, s.w+h*(a31*k1.dw+a32*k2.dw))

	vx4 := s.vx + h*(a41*k1.ax+a42*k2.ax+a43*k3.ax)
	vy4 := s.vy + h*(a41*k1.ay+a42*k2.ay+a43*k3.ay)
	vz4 := s.vz + h*(a41*k1.az+a42*k2.az+a43*k3.az)
	k4 := f.at(vx4, vy4, vz4, s.w+h*(a41*k1.dw+a42*k2.dw+a43*k3.dw))

	vx5 := s.vx + h*(a51*k1.ax+a52*k2.ax+a53*k3.ax+a54*k4.ax)
	vy5 := s.vy + h*(a51*k1.ay+a52*k2.ay+a53*k3.ay+a54*k4.ay)
	vz5 := s.vz + h*(a51*k1.az+a52*k2.az+a53*k3.az+a54*k4.az)
	k5 := f.at(vx5, vy5, vz5, s.w+h*(a51*k1.dw+a52*k2.dw+a53*k3.dw+a54*k4.dw))

	vx6 := s.vx + h*(a61*k1.ax+a62*k2.ax+a63*k3.ax+a64*k4.ax+a65*k5.ax)
	vy6 := s.vy + h*(a61*k1.ay+a62*k2.ay+a63*k3.ay+a64*k4.ay+a65*k5.ay)
	vz6 := s.vz + h*(a61*k1.az+a62*k2.az+a63*k3.az+a64*k4.az+a65*k5.az)
	k6 := f.at(vx6, vy6, vz6, s.w+h*(a61*k1.dw+a62*k2.dw+a63*k3.dw+a64*k4.dw+a65*k5.dw))

	out.t = s.t + h
	out.x = s.x + h*(b1*s.vx+b2*vx2+b3*vx3+b4*vx4+b5*vx5+b6*vx6)
	out.y = s.y + h*(b1*s.vy+b2*vy2+b3*vy3+b4*vy4+b5*vy5+b6*vy6)
	out.z = s.z + h*(b1*s.vz+b2*vz2+b3*vz3+b4*vz4+b5*vz5+b6*vz6)
	out.vx = s.vx + h*(b1*k1.ax+b2*k2.ax+b3*k3.ax+b4*k4.ax+b5*k5.ax+b6*k6.ax)
	out.vy = s.vy + h*(b1*k1.ay+b2*k2.ay+b3*k3.ay+b4*k4.ay+b5*k5.ay+b6*k6.ay)
	out.vz = s.vz + h*(b1*k1.az+b2*k2.az+b3*k3.az+b4*k4.az+b5*k5.az+b6*k6.az)
	out.w = s.w + h*(b1*k1.dw+b2*k2.dw+b3*k3.dw+b4*k4.dw+b5*k5.dw+b6*k6.dw)
	*k7 = f.at(out.vx, out.vy, out.vz, out.w)

	ex := e1*k1.ax + e2*k2.ax + e3*k3.ax + e4*k4.ax + e5*k5.ax + e6*k6.ax + e7*k7.ax
	ey := e1*k1.ay + e2*k2.ay + e3*k3.ay + e4*k4.ay + e5*k5.ay + e6*k6.ay + e7*k7.ay
	ez := e1*k1.az + e2*k2.az + e3*k3.az + e4*k4.az + e5*k5.az + e6*k6.az + e7*k7.az
	return h * math.Sqrt(ex*ex+ey*ey+ez*ez)
}

// Control of the step size. The tolerance was chosen by measuring the error
// of the landing point over the whole domain; see TestAccuracyOverTheDomain.
const (
	easyTolerance  = 2e-4 // m/s of velocity error a step
	tightTolerance = 3e-5 // for flights in which errors grow
	firstStep      = 0.25 // s
	longestStep    = 2.0  // s
	shortestStep   = 1e-4 // s
	collapseStep   = 0.3  // s, the longest step near the collapse of lift
	alongStep      = 0.12 // s, the longest step while the ball moves nearly along its spin axis
	excursionStep  = 0.2  // s, the longest step that leaves and re-enters the model's range
	longestFlight  = 60.0 // s, beyond any ball that the bounds admit
)

// segment is one accepted step: both ends and the rates there.
type segment struct {
	from, to state
	kFrom    rate
	kTo      rate
}

// stepper walks a flight segment by segment.
type stepper struct {
	f         forces
	seg       segment
	h         float64
	tolerance float64
}

func (p *stepper) start(l *Launch, c *Conditions) {
	p.f = newForces(l, c)
	windX, windY := c.Wind.vector()
	sinUp, cosUp := math.Sincos(l.Angle * math.Pi / 180)
	sinDir, cosDir := math.Sincos(l.Direction * math.Pi / 180)
	s := &p.seg.to
	*s = state{
		vx: l.BallSpeed*cosUp*cosDir - windX,
		vy: l.BallSpeed*cosUp*sinDir - windY,
		vz: l.BallSpeed * sinUp,
		w:  l.SpinRate * math.Pi / 30,
	}
	p.seg.kTo = p.f.at(s.vx, s.vy, s.vz, s.w)
	p.h = firstStep
	p.tolerance = easyTolerance
	// What errs on the way up grows where a steep or ballooning ball stalls; a
	// ball that skims the ground turns an error of height into many of carry.
	if l.Angle+l.SpinRate/600 > 38 || l.Angle < 6 {
		p.tolerance = tightTolerance
	}
}

// next takes one step within the error and leaves it in p.seg. Some features of
// the forces would fool an error estimate that only looks at the stages, so the
// step is also kept short near them, and ended where the spin ratio leaves or
// enters the model's range.
func (p *stepper) next() {
	p.seg.from, p.seg.kFrom = p.seg.to, p.seg.kTo
	fromSide := p.f.side(&p.seg.from)
	fromNear := p.f.nearCollapse(&p.seg.from)
	resume := 0.0 // the step to go on with after one that was cut at an edge
	for {
		h := p.h
		err := p.f.step(&p.seg.from, &p.seg.kFrom, h, &p.seg.to, &p.seg.kTo)
		// The error of an order 4 estimate grows with h⁵.
		scale := 2.5
		if err > 0 {
			scale = min(2.5, max(0.2, 0.8*fifthRoot(p.tolerance/err)))
		}
		p.h = min(longestStep, h*scale)
		if err > p.tolerance && h > shortestStep {
			continue
		}
		mid := p.seg.middle(h)
		if h > collapseStep && (fromNear || p.f.nearCollapse(&p.seg.to) || p.f.nearCollapse(&mid)) {
			p.h = collapseStep
			continue
		}
		if h > alongStep && (p.f.alongAxis(&p.seg.from) || p.f.alongAxis(&mid) || p.f.alongAxis(&p.seg.to)) {
			p.h = alongStep
			continue
		}
		toSide := p.f.side(&p.seg.to)
		if toSide == fromSide && h > excursionStep && p.f.side(&mid) != fromSide {
			p.h = 0.5 * h
			continue
		}
		if toSide != fromSide && resume == 0 {
			edge := p.f.smax
			if min(toSide, fromSide) < 0 {
				edge = p.f.smin
			}
			u := crossing(p.f.beyond(&p.seg.from, edge), p.f.beyond(&mid, edge), p.f.beyond(&p.seg.to, edge))
			if cut := u * h; cut > 1e-5 && cut < h-1e-5 {
				resume = h
				p.h = cut
				continue
			}
		}
		if resume > 0 {
			p.h = resume
		}
		if p.f.nearCollapse(&p.seg.to) {
			p.h = min(p.h, collapseStep)
		}
		if p.f.alongAxis(&p.seg.to) {
			p.h = min(p.h, alongStep)
		}
		return
	}
}

// middle is the state half way through a step of length h; it holds only the
// velocity and the spin.
func (g *segment) middle(h float64) state {
	return state{
		vx: 0.5*(g.from.vx+g.to.vx) + h/8*(g.kFrom.ax-g.kTo.ax),
		vy: 0.5*(g.from.vy+g.to.vy) + h/8*(g.kFrom.ay-g.kTo.ay),
		vz: 0.5*(g.from.vz+g.to.vz) + h/8*(g.kFrom.az-g.kTo.az),
		w:  0.5*(g.from.w+g.to.w) + h/8*(g.kFrom.dw-g.kTo.dw),
	}
}

// crossing is where in 0..1 a quantity that is a, m and b at the start, middle
// and end, with a and b of opposite signs, passes zero.
func crossing(a, m, b float64) float64 {
	c1, c2 := 4*m-3*a-b, 2*(a+b-2*m)
	u := a / (a - b)
	for range 4 {
		slope := c1 + 2*c2*u
		if slope == 0 {
			break
		}
		u = min(1, max(0, u-(a+u*(c1+u*c2))/slope))
	}
	return u
}

// alongAxis says whether the ball moves within 35° of its spin axis, which
// takes a tilted axis and a slow ball near the top of a steep shot. The
// direction of lift swings fast there.
func (f *forces) alongAxis(s *state) bool {
	dot := f.ox*s.vx + f.oy*s.vy + f.oz*s.vz
	return dot*dot > 0.67*(s.vx*s.vx+s.vy*s.vy+s.vz*s.vz)
}

// beyond is how far the spin ratio is above an edge, times the speed.
func (f *forces) beyond(s *state, edge float64) float64 {
	return f.radius*s.w - edge*math.Sqrt(s.vx*s.vx+s.vy*s.vy+s.vz*s.vz)
}

// side says whether the spin ratio is below (-1), within (0) or above (1) the
// range of the model.
func (f *forces) side(s *state) int {
	v := math.Sqrt(s.vx*s.vx + s.vy*s.vy + s.vz*s.vz)
	switch w := f.radius * s.w; {
	case w < f.smin*v:
		return -1
	case w > f.smax*v:
		return 1
	}
	return 0
}

// nearCollapse says whether a state is close to where the lift collapses.
func (f *forces) nearCollapse(s *state) bool {
	limit := 1.2 * f.vLimit
	v2 := s.vx*s.vx + s.vy*s.vy + s.vz*s.vz
	return v2 < limit*limit && f.radius*s.w < (collapseRecovers+0.02)*math.Sqrt(v2)
}

// fifthRoot is x^(1/5) for a positive x, to within 2 %: a guess that divides the
// exponent by five (the bits of a floating-point number, read as an integer, are
// nearly its logarithm) and one step of Newton's method.
func fifthRoot(x float64) float64 {
	const one = 1023 << 52
	const centre = one/5*4 - 0x8_0000_0000_0000/5
	y := math.Float64frombits(math.Float64bits(x)/5 + centre)
	y2 := y * y
	return 0.8*y + 0.2*x/(y2*y2)
}
