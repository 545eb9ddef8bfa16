package window

import (
	"math"

	"fairlead/processors/golf/impact"
)

// Sensitivity is what a change of loft does to the player's present launch,
// clubhead speed and attack held. The model gives the changes; they are laid
// on the launch and spin that were measured, so that a player who spins more
// than a centred strike would keeps doing so. All rates are per degree of
// dynamic loft; a degree of static loft gives about that much.
type Sensitivity struct {
	DynamicLoft     float64 // deg that the present launch implies at this attack
	SpinShare       float64 // present spin over the model's for a centred strike
	LaunchPerDeg    float64 // deg
	SpinPerDeg      float64 // rpm
	BallSpeedPerDeg float64 // m/s
	CarryPerDeg     float64 // m
	LossPerDeg      float64 // m of the goal's loss, negative when more loft helps
	CarryPerAttack  float64 // m of carry per degree of attack, dynamic loft held
	Advice          Change  // the best of the changes tried
	Changes         []Change
}

// Change is the outcome of a change of loft.
type Change struct {
	Loft      float64 // deg, positive adds loft
	BallSpeed float64 // m/s
	Point             // Loss is against the best at the player's ball speed
	Gain      float64 // m of loss less than now
}

const (
	mostLoft = 4.0 // deg of change either way that is tried: more is another club
	loftStep = 0.5
)

// sensitivity explains the present launch by the model and moves its loft.
func (s *search) sensitivity(here Point) (*Sensitivity, error) {
	loft, ok, err := s.impliedLoft(here.Launch)
	if err != nil || !ok {
		return nil, err
	}
	base, d, err := s.strike(loft, s.player.BallSpeed)
	if err != nil {
		return nil, err
	}
	out := &Sensitivity{DynamicLoft: loft}
	if base.Launch.SpinRate > 1 {
		out.SpinShare = here.Spin / base.Launch.SpinRate
	}
	moved := func(loftBy, attackBy float64) (Change, error) {
		e := d
		e.DynamicLoft += loftBy
		e.Attack += attackBy
		r, err := impact.Strike(e, s.head)
		if err != nil {
			return Change{}, err
		}
		c := Change{Loft: loftBy, BallSpeed: s.player.BallSpeed * r.Launch.BallSpeed / base.Launch.BallSpeed}
		launch := here.Launch + r.Launch.Angle - base.Launch.Angle
		spin := here.Spin + out.SpinShare*(r.Launch.SpinRate-base.Launch.SpinRate)
		if c.Point, err = s.outcome(c.BallSpeed, launch, min(20000, max(0, spin))); err != nil {
			return Change{}, err
		}
		c.Loss, c.SpinShare = s.loss(c.Point), out.SpinShare
		c.Gain = here.Loss - c.Loss
		return c, nil
	}
	for by := -mostLoft; by <= mostLoft; by += loftStep {
		if loft+by < d.Attack+1 || here.Launch+by < 0.5 {
			continue
		}
		c, err := moved(by, 0)
		if err != nil {
			return nil, err
		}
		out.Changes = append(out.Changes, c)
		if c.Gain > out.Advice.Gain+1e-9 || by == 0 && out.Advice.BallSpeed == 0 {
			out.Advice = c
		}
	}
	less, err := moved(-0.5, 0)
	if err != nil {
		return nil, err
	}
	more, err := moved(0.5, 0)
	if err != nil {
		return nil, err
	}
	out.LaunchPerDeg, out.SpinPerDeg = more.Launch-less.Launch, more.Spin-less.Spin
	out.BallSpeedPerDeg, out.CarryPerDeg = more.BallSpeed-less.BallSpeed, more.Carry-less.Carry
	out.LossPerDeg = more.Loss - less.Loss
	down, err := moved(0, -0.5)
	if err != nil {
		return nil, err
	}
	up, err := moved(0, 0.5)
	if err != nil {
		return nil, err
	}
	out.CarryPerAttack = up.Carry - down.Carry
	return out, nil
}

// impliedLoft is the dynamic loft at which a centred strike at the player's
// attack launches at an angle; the launch rises with it. It is not ok when
// the ball launched lower than a centred strike can.
func (s *search) impliedLoft(launch float64) (loft float64, ok bool, err error) {
	lo, hi := s.player.Attack+0.5, min(80, s.player.Attack+75)
	at := func(loft float64) (float64, error) {
		r, _, err := s.strike(loft, s.player.BallSpeed)
		return r.Launch.Angle, err
	}
	low, err := at(lo)
	if err != nil || launch < low {
		return 0, false, err
	}
	for range 60 {
		mid := 0.5 * (lo + hi)
		v, err := at(mid)
		if err != nil || v > launch { // a loft too high to strike with is too high anyway
			hi = mid
		} else {
			lo = mid
		}
		if math.Abs(hi-lo) < 1e-6 {
			break
		}
	}
	return 0.5 * (lo + hi), true, nil
}
