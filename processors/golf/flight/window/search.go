package window

import (
	"math"

	"fairlead/processors/golf/flight"
	"fairlead/processors/golf/impact"
)

// search is one run of Find.
type search struct {
	player Player
	goal   Goal
	head   impact.Head
	c      flight.Conditions
	wanted float64 // carry in m, for Green
	zero   float64 // cost of the best point, in m
}

// outcome flies one launch.
func (s *search) outcome(ballSpeed, launch, spin float64) (Point, error) {
	r, err := flight.Simulate(flight.Launch{BallSpeed: ballSpeed, Angle: launch, SpinRate: spin}, s.c)
	if err != nil {
		return Point{}, err
	}
	return Point{Launch: launch, Spin: spin, Carry: r.Carry, Landing: r.LandingAngle, Stop: r.Run()}, nil
}

// missed is what a metre of carry counts that lies beyond 2 % of the wanted
// carry, in metres of run-out: a ball that stops soon in the wrong place does
// not hold the green.
const missed = 5

// cost is what the goal wants small, in m: less carry, or the way the ball
// still goes after landing at the wanted carry.
func (s *search) cost(p Point) float64 {
	if s.goal == Green {
		return math.Abs(p.Stop) + missed*max(0, math.Abs(p.Carry-s.wanted)-share*s.wanted)
	}
	return -p.Carry
}

// spinShare is a spin over that of a centred strike at the same launch angle,
// read off the line.
func spinShare(line []Reachable, launch, spin float64) float64 {
	i := 1
	for i < len(line)-1 && line[i].Launch < launch {
		i++
	}
	a, b := line[i-1], line[i]
	at := a.Spin + (b.Spin-a.Spin)*(launch-a.Launch)/(b.Launch-a.Launch)
	return spin / max(at, 0.2*a.Spin, 1)
}

func (s *search) loss(p Point) float64 { return s.cost(p) - s.zero }

// strike is the model's centred strike with a dynamic loft at which the ball
// leaves at ballSpeed: the clubhead speed is solved for.
func (s *search) strike(loft, ballSpeed float64) (impact.Result, impact.Delivery, error) {
	d := impact.Delivery{HeadSpeed: ballSpeed / 1.3, Attack: s.player.Attack, DynamicLoft: loft}
	var r impact.Result
	for range 8 { // smash hardly depends on speed, so this settles at once
		var err error
		if r, err = impact.Strike(d, s.head); err != nil {
			return r, d, err
		}
		if math.Abs(r.Launch.BallSpeed-ballSpeed) < 1e-9*ballSpeed {
			break
		}
		d.HeadSpeed = math.Min(80, d.HeadSpeed*ballSpeed/r.Launch.BallSpeed)
	}
	return r, d, nil
}

// reach is the point of the line at a dynamic loft.
func (s *search) reach(loft float64) (Reachable, error) {
	r, _, err := s.strike(loft, s.player.BallSpeed)
	if err != nil {
		return Reachable{}, err
	}
	p, err := s.outcome(s.player.BallSpeed, r.Launch.Angle, r.Launch.SpinRate)
	return Reachable{Point: p, DynamicLoft: loft}, err
}

// line walks the dynamic lofts whose launch stays between 0 and 50° and whose
// spin below 12,000 rpm.
func (s *search) line() ([]Reachable, error) {
	var line []Reachable
	for loft := math.Ceil(s.player.Attack) + 1; loft <= 65; loft += 0.5 {
		if loft-s.player.Attack > 70 {
			break
		}
		p, err := s.reach(loft)
		if err != nil {
			return nil, err
		}
		if p.Launch > 50 || p.Spin > 12000 {
			break
		}
		if p.Launch > 0 {
			line = append(line, p)
		}
	}
	if len(line) < 3 {
		return nil, &flight.InputError{Field: "attack angle", Value: s.player.Attack, Unit: "deg",
			Want: "an attack at which some loft still launches the ball between 0 and 50 deg"}
	}
	return line, nil
}

// aim settles the carry that the goal Green wants.
func (s *search) aim(line []Reachable, known bool) error {
	if s.goal != Green {
		return nil
	}
	s.wanted = s.player.WantedCarry
	if s.wanted > 0 {
		return nil
	}
	if known {
		p, err := s.outcome(s.player.BallSpeed, s.player.Launch, s.player.Spin)
		s.wanted = p.Carry
		if err != nil || s.wanted > 0 {
			return err
		}
	}
	for _, p := range line {
		s.wanted = max(s.wanted, p.Carry)
	}
	return nil
}

// best refines the best point of the line between its neighbours by golden
// section.
func (s *search) best(line []Reachable) (Reachable, error) {
	at := 0
	for i := range line {
		if s.cost(line[i].Point) < s.cost(line[at].Point) {
			at = i
		}
	}
	lo, hi := line[max(0, at-1)].DynamicLoft, line[min(len(line)-1, at+1)].DynamicLoft
	const ratio = 0.6180339887498949
	best := line[at]
	for hi-lo > 0.005 {
		a, b := hi-ratio*(hi-lo), lo+ratio*(hi-lo)
		pa, err := s.reach(a)
		if err != nil {
			return best, err
		}
		pb, err := s.reach(b)
		if err != nil {
			return best, err
		}
		if s.cost(pa.Point) < s.cost(pb.Point) {
			hi = b
		} else {
			lo = a
		}
		for _, p := range [...]Reachable{pa, pb} {
			if s.cost(p.Point) < s.cost(best.Point) {
				best = p
			}
		}
	}
	return best, nil
}

// gridSize is how many launches and spins a surface has.
const gridSize = 65

// surface spans what a player of this speed could plausibly launch: around the
// line up to some way beyond its best.
func (s *search) surface(line []Reachable, ceiling Reachable) (Surface, error) {
	topLaunch, topSpin := 12.0, 3000.0
	for _, p := range line {
		if s.loss(p.Point) < 6*share*max(p.Carry, 1) {
			topLaunch, topSpin = max(topLaunch, p.Launch*1.25+3), max(topSpin, p.Spin*1.3)
		}
	}
	if s.player.Launch > 0 || s.player.Spin > 0 {
		topLaunch, topSpin = max(topLaunch, s.player.Launch+3), max(topSpin, s.player.Spin*1.15)
	}
	topLaunch, topSpin = min(topLaunch, 60), min(topSpin, 12000)
	f := Surface{Ceiling: ceiling.Point}
	for i := range gridSize {
		share := float64(i) / (gridSize - 1)
		f.Launches = append(f.Launches, 1+share*(topLaunch-1))
		f.Spins = append(f.Spins, 500+share*(topSpin-500))
	}
	f.Points = make([]Point, 0, gridSize*gridSize)
	for _, spin := range f.Spins {
		for _, launch := range f.Launches {
			p, err := s.outcome(s.player.BallSpeed, launch, spin)
			if err != nil {
				return f, err
			}
			p.Loss, p.SpinShare = s.loss(p), spinShare(line, launch, spin)
			f.Points = append(f.Points, p)
			if p.Loss < f.Ceiling.Loss && p.SpinShare >= LeastShare {
				f.Ceiling = p
			}
		}
	}
	return f, nil
}
