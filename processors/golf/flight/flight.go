package flight

import (
	"errors"
	"math"
	"strings"
)

// Flags say where a result leaves the ground that its model stands on.
type Flags uint8

const (
	// LowReynolds: the ball was slower than Re 7e4 with little spin somewhere,
	// where the lift collapses; more than a tenth of it was faded out there.
	LowReynolds Flags = 1 << iota
	// SpinRatioHigh: the spin ratio rose above the model's range and the
	// coefficients were held at its edge.
	SpinRatioHigh
	// SpinRatioLow: the spin ratio was below the model's range; the lift was
	// taken in proportion to it.
	SpinRatioLow
	// OutsideDomain: the launch lies outside the domain over which the
	// accuracy of the integration is proven.
	OutsideDomain
	// NoFlight: the ball started downwards onto the ground; carry is 0.
	NoFlight
	// RunExtrapolated: the landing lies outside what the bounce was fitted to.
	RunExtrapolated
)

var flagNames = [...]string{"low_reynolds", "spin_ratio_high", "spin_ratio_low", "outside_domain", "no_flight", "run_extrapolated"}

// Names lists the flags that are set, in a fixed order; empty for none.
func (f Flags) Names() []string {
	names := []string{}
	for i, name := range flagNames {
		if f&(1<<i) != 0 {
			names = append(names, name)
		}
	}
	return names
}

// String joins the names by commas.
func (f Flags) String() string { return strings.Join(f.Names(), ",") }

// Result is the flight in numbers.
type Result struct {
	Carry        float64 // m along the target line to where the ball meets the landing height
	Offline      float64 // m beside the target line there, positive right
	Apex         float64 // m above the start at the highest point
	HangTime     float64 // s until there
	LandingAngle float64 // deg below the horizon, positive down
	LandingSpeed float64 // m/s over the ground
	LandingSpin  float64 // rpm that is left
	Curve        float64 // m offline of the landing from the line it started on, positive right
	Total        float64 // m along the target line to where it comes to rest; low confidence
	TotalOffline float64 // m beside the target line there; low confidence
	Flags        Flags
}

// Distance is the straight distance in m from start to landing.
func (r *Result) Distance() float64 { return math.Hypot(r.Carry, r.Offline) }

// Run is the way in m along the target line after landing; negative when the
// ball spins back.
func (r *Result) Run() float64 { return r.Total - r.Carry }

// ErrEndless is returned when a ball has not come down within a minute, which
// no launch within the bounds does.
var ErrEndless = errors.New("the ball does not come down within a minute: check spin, wind and landing height")

// ErrNeverReaches is returned when the landing height lies above the apex.
var ErrNeverReaches = errors.New("the ball never rises to the landing height: give more launch or a lower one")

// Simulate computes the flight of l under c. It allocates nothing. The error
// is an *InputError, ErrNeverReaches or ErrEndless.
func Simulate(l Launch, c Conditions) (Result, error) {
	if err := l.Check(); err != nil {
		return Result{}, err
	}
	if err := c.Check(); err != nil {
		return Result{}, err
	}
	var p stepper
	p.start(&l, &c)
	return p.fly(&l, &c, nil)
}

// fly walks to the landing; see receives every segment, with the part of it
// that is flown, when it is not nil.
func (p *stepper) fly(l *Launch, c *Conditions, see func(segment, float64)) (Result, error) {
	var r Result
	if !l.inDomain() {
		r.Flags |= OutsideDomain
	}
	ground := c.LandingHeight
	start := p.seg.to
	p.note(&start, &r)
	rising := start.vz > 0 || start.vz == 0 && p.seg.kTo.az > 0
	if !rising && ground >= 0 {
		if ground > 0 {
			return Result{}, ErrNeverReaches
		}
		r.Flags |= NoFlight
		p.land(&start, c, l, &r)
		return r, nil
	}
	for p.seg.to.t < longestFlight {
		p.next()
		g := &p.seg
		u, landed := g.landing(ground, &r.Apex)
		if see != nil {
			see(*g, u)
		}
		if landed {
			s := g.at(u)
			p.note(&s, &r)
			p.land(&s, c, l, &r)
			return r, nil
		}
		p.note(&g.to, &r)
		if g.to.z < ground && g.to.vz < 0 && r.Apex < ground {
			return Result{}, ErrNeverReaches
		}
	}
	return Result{}, ErrEndless
}

// landing looks for the first downward crossing of the ground within the
// segment, and raises apex to the highest point flown in it. Without a
// landing the segment counts whole (u = 1).
func (g *segment) landing(ground float64, apex *float64) (u float64, landed bool) {
	turnsDown := g.from.vz > 0 && g.to.vz <= 0
	turnsUp := g.from.vz <= 0 && g.to.vz > 0
	if !turnsDown && !turnsUp && g.to.z >= ground {
		*apex = max(*apex, g.to.z)
		return 1, false
	}
	z := g.height()
	switch {
	case turnsDown:
		top := z.turn(0, 1)
		height := z.at(top)
		*apex = max(*apex, height)
		if g.to.z < ground && height > ground {
			return z.root(ground, top, 1), true
		}
	case turnsUp:
		// A low ball with much spin dips and climbs; it may touch on the way.
		dip := z.turn(0, 1)
		if g.from.z > ground && z.at(dip) < ground {
			return z.root(ground, 0, dip), true
		}
		*apex = max(*apex, g.to.z)
	case g.from.z > ground && g.to.z < ground:
		return z.root(ground, 0, 1), true
	}
	return 1, false
}

// note sets the flags that a point of the flight asks for.
func (p *stepper) note(s *state, r *Result) {
	v := math.Sqrt(s.vx*s.vx + s.vy*s.vy + s.vz*s.vz)
	w := p.f.radius * s.w
	if v < p.f.vLimit && w < collapseRecovers*v && p.f.collapse(v, w/v) < collapseTold {
		r.Flags |= LowReynolds
	}
	if w > p.f.smax*v {
		r.Flags |= SpinRatioHigh
	} else if w < p.f.smin*v {
		r.Flags |= SpinRatioLow
	}
}

// land turns the state at the landing into the result, back from the moving
// air to the ground, and lets the ball run out.
func (p *stepper) land(s *state, c *Conditions, l *Launch, r *Result) {
	windX, windY := c.Wind.vector()
	r.Carry, r.Offline = s.x+windX*s.t, s.y+windY*s.t
	r.HangTime = s.t
	vx, vy := s.vx+windX, s.vy+windY
	level := math.Sqrt(vx*vx + vy*vy)
	r.LandingSpeed = math.Sqrt(level*level + s.vz*s.vz)
	r.LandingAngle = math.Atan2(-s.vz, level) * 180 / math.Pi
	r.LandingSpin = s.w * 30 / math.Pi
	sinDir, cosDir := math.Sincos(l.Direction * math.Pi / 180)
	r.Curve = r.Offline*cosDir - r.Carry*sinDir
	run := c.Ground.run(touchdown{
		vx: vx, vy: vy, vz: s.vz,
		wx: s.w * p.f.ox, wy: s.w * p.f.oy, wz: s.w * p.f.oz,
	}, c.Ball.Radius)
	r.Total, r.TotalOffline = r.Carry+run.x, r.Offline+run.y
	if run.extrapolated {
		r.Flags |= RunExtrapolated
	}
}
