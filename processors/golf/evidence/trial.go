package evidence

import (
	"fmt"
	"math"
)

// Shot is one shot's measured values; what was not measured is absent.
// Position is its place in the session from 1, counting every shot hit with
// any club; 0 where the order is not known.
type Shot struct {
	Position int
	Values   map[Measure]float64
}

// Trial is a run of shots with one build, one hitter, one instruction.
// Instructions counts what the player had been told to change in their swing,
// in this session, before it: trials with different counts do not compare.
// Wedges are compared one swing length at a time.
type Trial struct {
	Name         string
	Instructions int
	Shots        []Shot
}

// ShotError names the trial, the shot (from 0) and the measure that cannot be used.
type ShotError struct {
	Trial   string
	Index   int
	Measure Measure
	Value   float64
	Reason  string
}

func (e *ShotError) Error() string {
	return fmt.Sprintf("%s, shot %d: %s %g %s", e.Trial, e.Index+1, e.Measure, e.Value, e.Reason)
}

// Check returns a *ShotError for the first value of the trial that is no
// measurement: not a number, or outside of what the measure can be.
func (t Trial) Check() error {
	for i, s := range t.Shots {
		if s.Position < 0 {
			return &ShotError{t.Name, i, "position", float64(s.Position), "must count from 1, or be 0 where the order is not known"}
		}
		for _, r := range ranges {
			v, ok := s.Values[r.measure]
			switch {
			case !ok:
			case math.IsNaN(v) || math.IsInf(v, 0):
				return &ShotError{t.Name, i, r.measure, v, "is not a number; leave the value out"}
			case v < r.low || v > r.high, r.measure == CarryM && v == 0:
				return &ShotError{t.Name, i, r.measure, v, fmt.Sprintf("is outside of %g to %g; check its unit", r.low, r.high)}
			}
		}
	}
	return nil
}

// Handed returns the trial as a right-hander's: a left-hander's directions are
// mirrored. The input is not changed.
func (t Trial) Handed(left bool) Trial {
	if !left {
		return t
	}
	out := t
	out.Shots = make([]Shot, len(t.Shots))
	for i, s := range t.Shots {
		values := make(map[Measure]float64, len(s.Values))
		for m, v := range s.Values {
			if m == OfflineM || m == StartDeg {
				v = -v
			}
			values[m] = v
		}
		out.Shots[i] = Shot{Position: s.Position, Values: values}
	}
	return out
}
