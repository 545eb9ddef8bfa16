package flight

import (
	"fmt"
	"math"
)

// Launch is the state of the ball as it leaves the club.
type Launch struct {
	BallSpeed float64 // m/s, above 0
	Angle     float64 // deg above the horizon
	Direction float64 // deg from the target line, positive right
	SpinRate  float64 // rpm, total, about the spin axis; 0 or more
	SpinAxis  float64 // deg of the axis against the horizon, positive tilts the ball right
}

// An InputError says which input of a computation cannot be used, and what to
// give instead. errors.As finds it behind any error of this package.
type InputError struct {
	Field string  // what was wrong, in words
	Value float64 // what was given
	Unit  string  // the unit of Value
	Want  string  // what would be accepted
}

func (e *InputError) Error() string {
	return fmt.Sprintf("%s of %g %s cannot be used: give %s", e.Field, e.Value, e.Unit, e.Want)
}

// bound is a range that an input must lie in; NaN and infinities never do.
type bound struct {
	field, unit, want string
	low, high         float64
}

func (b *bound) check(v float64) error {
	if v >= b.low && v <= b.high {
		return nil
	}
	return &InputError{Field: b.field, Value: v, Unit: b.unit, Want: b.want}
}

// The bounds are where the equations still mean something; the narrower
// domain in which the accuracy is proven is inDomain.
var (
	boundBallSpeed = bound{"ball speed", "m/s", "0.5 to 120 m/s", 0.5, 120}
	boundAngle     = bound{"launch angle", "deg", "-60 to 89 deg", -60, 89}
	boundDirection = bound{"launch direction", "deg", "-180 to 180 deg", -180, 180}
	boundSpin      = bound{"spin rate", "rpm", "0 to 20000 rpm (a negative backspin is a spin axis beyond 90 deg)", 0, 20000}
	boundAxis      = bound{"spin axis", "deg", "-180 to 180 deg", -180, 180}
)

// Check returns an *InputError when the launch cannot be computed, else nil.
func (l *Launch) Check() error {
	if err := boundBallSpeed.check(l.BallSpeed); err != nil {
		return err
	}
	if err := boundAngle.check(l.Angle); err != nil {
		return err
	}
	if err := boundDirection.check(l.Direction); err != nil {
		return err
	}
	if err := boundSpin.check(l.SpinRate); err != nil {
		return err
	}
	return boundAxis.check(l.SpinAxis)
}

// inDomain says whether the launch lies in the domain over which the accuracy
// of the integration is proven by test.
func (l *Launch) inDomain() bool {
	return l.BallSpeed >= 20 && l.BallSpeed <= 90 && l.Angle >= -5 && l.Angle <= 60 &&
		l.SpinRate <= 12000 && math.Abs(l.SpinAxis) <= 45
}

// Mirrored returns the launch as seen in a mirror along the target line: what
// a left-handed player's shot is to a right-handed one.
func (l Launch) Mirrored() Launch {
	l.Direction, l.SpinAxis = -l.Direction, -l.SpinAxis
	return l
}
