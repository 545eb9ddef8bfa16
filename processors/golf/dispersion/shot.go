package dispersion

import (
	"fmt"
	"math"
)

// Shot is where one shot came down. Carry (m) is measured down the target
// line and is more than zero; Offline (m) is across it, right positive.
type Shot struct{ Carry, Offline float64 }

// farthest is the largest distance (m) taken as a golf shot; what is beyond it
// is a wrong unit or a broken field.
const farthest = 1000

// DirectionDeg returns the direction of the landing point from the tee in
// degrees, right positive: atan2(offline, carry).
func (s Shot) DirectionDeg() float64 { return math.Atan2(s.Offline, s.Carry) * 180 / math.Pi }

// ShotError names the shot (from 0) and the field that cannot be used.
type ShotError struct {
	Index  int
	Field  string
	Value  float64
	Reason string
}

func (e *ShotError) Error() string {
	return fmt.Sprintf("shot %d: %s %g %s", e.Index+1, e.Field, e.Value, e.Reason)
}

// Check returns a *ShotError when the shot is none: a value that is not a
// number, a carry that is not above zero, a distance beyond a kilometre.
func (s Shot) Check(index int) error {
	switch {
	case !finite(s.Carry):
		return &ShotError{index, "carry", s.Carry, "is not a number; leave the shot out or enter its carry in metres"}
	case !finite(s.Offline):
		return &ShotError{index, "offline", s.Offline, "is not a number; leave the shot out or enter it in metres, right positive"}
	case s.Carry <= 0:
		return &ShotError{index, "carry", s.Carry, "must be more than 0 m; a shot that did not fly is a mishit to count, not to average"}
	case s.Carry > farthest:
		return &ShotError{index, "carry", s.Carry, "is beyond 1000 m; check its unit"}
	case math.Abs(s.Offline) > farthest:
		return &ShotError{index, "offline", s.Offline, "is beyond 1000 m; check its unit"}
	}
	return nil
}

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }

// Handed returns the shots as a right-hander's: a left-hander's are mirrored
// across the target line, so that the two can be compared and pooled. The
// input is not changed.
func Handed(shots []Shot, left bool) []Shot {
	out := make([]Shot, len(shots))
	for i, s := range shots {
		if left {
			s.Offline = -s.Offline
		}
		out[i] = s
	}
	return out
}

// Metres returns the shots as points (carry m, offline m).
func Metres(shots []Shot) [][2]float64 {
	out := make([][2]float64, len(shots))
	for i, s := range shots {
		out[i] = [2]float64{s.Carry, s.Offline}
	}
	return out
}

// Relative returns the shots as points (carry in percent of the shots' mean
// carry, direction in degrees).
func Relative(shots []Shot) [][2]float64 {
	mean := 0.0
	for _, s := range shots {
		mean += s.Carry
	}
	mean /= float64(max(len(shots), 1))
	out := make([][2]float64, len(shots))
	for i, s := range shots {
		out[i] = [2]float64{100 * s.Carry / mean, s.DirectionDeg()}
	}
	return out
}
