package evidence

import (
	"fmt"

	"fairlead/processors/golf/dispersion"
)

// Measure is one measured value of a shot, named with its unit.
type Measure string

// The measures. Offline and start are positive to the right of the target;
// strike is from the face's centre, toe and up positive; start is a putt's
// start line.
const (
	BallSpeedMps Measure = "ball_speed_mps"
	LaunchDeg    Measure = "launch_deg"
	SpinRpm      Measure = "spin_rpm"
	CarryM       Measure = "carry_m"
	OfflineM     Measure = "offline_m"
	LandingDeg   Measure = "landing_deg"
	StrikeXM     Measure = "strike_x_m"
	StrikeYM     Measure = "strike_y_m"
	StartDeg     Measure = "start_deg"
)

// ranges bounds what is taken as a measurement; beyond is a wrong unit.
var ranges = []struct {
	measure   Measure
	low, high float64
}{
	{BallSpeedMps, 0, 120}, {LaunchDeg, -30, 90}, {SpinRpm, 0, 20000}, {CarryM, 0, 1000}, {OfflineM, -1000, 1000},
	{LandingDeg, 0, 90}, {StrikeXM, -0.15, 0.15}, {StrikeYM, -0.15, 0.15}, {StartDeg, -90, 90},
}

// Measures lists every measure.
func Measures() []Measure {
	out := make([]Measure, len(ranges))
	for i, r := range ranges {
		out[i] = r.measure
	}
	return out
}

// Name is an outcome that a verdict is given on.
type Name string

// The outcomes, in the order in which they usually can be decided.
const (
	Launch          Name = "launch"           // mean launch angle, deg
	Spin            Name = "spin"             // mean spin rate, rpm
	BallSpeed       Name = "ball_speed"       // mean ball speed, m/s
	Carry           Name = "carry"            // mean carry, m
	Landing         Name = "landing"          // mean landing angle, deg
	Strike          Name = "strike"           // mean distance of strike from the face's centre, m
	Direction       Name = "direction"        // ln sd of direction (a putter's start line)
	DistanceControl Name = "distance_control" // ln sd of carry in percent (a putter's ball speed)
	Area            Name = "area"             // ln of √|Σ| in percent × degrees
)

// Names lists the outcomes in their order.
func Names() []Name {
	return []Name{Launch, Spin, BallSpeed, Carry, Landing, Strike, Direction, DistanceControl, Area}
}

// ParseName reads an outcome's name.
func ParseName(s string) (Name, error) {
	for _, n := range Names() {
		if s == string(n) {
			return n, nil
		}
	}
	return "", fmt.Errorf("outcome %q is not known; use one of %v", s, Names())
}

// Unit returns the unit of an outcome's change.
func (n Name) Unit() string {
	switch n {
	case Launch, Landing:
		return "deg"
	case Spin:
		return "rpm"
	case BallSpeed:
		return "m/s"
	case Carry, Strike:
		return "m"
	}
	return "ln"
}

// Tightness says that an outcome is a spread, on the log scale.
func (n Name) Tightness() bool { return n == Direction || n == DistanceControl || n == Area }

// Way is what counts as better.
type Way string

// The ways. Toward needs a target.
const (
	Higher Way = "higher"
	Lower  Way = "lower"
	Toward Way = "toward"
)

// Goal is what counts as better for one outcome. Assumed marks a default that
// holds for many players but not all, such as less spin with a driver: there a
// target from the player's launch window should be given instead.
type Goal struct {
	Way     Way
	Target  float64
	Assumed bool
}

// DefaultGoal returns what counts as better when nothing is declared. A wedge
// or an iron is not better for being longer; 'higher' there is a convention
// for reading the number, and marked as assumed.
func DefaultGoal(c dispersion.Category, n Name) Goal {
	long := c == dispersion.Driver || c == dispersion.Wood
	switch n {
	case BallSpeed:
		return Goal{Way: Higher, Assumed: !long}
	case Carry:
		return Goal{Way: Higher, Assumed: !long}
	case Strike, Direction, DistanceControl, Area:
		return Goal{Way: Lower}
	case Launch:
		switch c {
		case dispersion.Putter:
			return Goal{Way: Toward, Target: 2, Assumed: true} // one to three degrees: a convention of the trade
		case dispersion.Wedge:
			return Goal{Way: Lower, Assumed: true}
		}
		return Goal{Way: Higher, Assumed: true}
	}
	// Spin and landing: a long club wants run, a short one wants to stop.
	if long {
		return Goal{Way: Lower, Assumed: true}
	}
	return Goal{Way: Higher, Assumed: true}
}
