package plausible

import (
	"math"
	"slices"

	"fairlead/processors/golf/flight"
)

// Shot is what a device says of one hit, by the field's name in the contract.
type Shot map[string]float64

// Shots is a run of shots of one device, read through one map.
type Shots []Shot

// most is how many shots of a run are looked at: more add nothing but time.
const most = 24

// thin takes a run's shots at even distances, so that both ends of a day count.
func (s Shots) thin() Shots {
	if len(s) <= most {
		return s
	}
	out := make(Shots, most)
	for i := range out {
		out[i] = s[i*(len(s)-1)/(most-1)]
	}
	return out
}

// Judge asks the laws of many readings of the same shots, and remembers the
// flights that it has computed. The zero value is ready; it serves one goroutine.
type Judge struct {
	flown map[flight.Launch]*flight.Result
}

// flights is what the model makes of each launch; nil where none can be made.
func (j *Judge) flights(s Shots) []*flight.Result {
	if j.flown == nil {
		j.flown = map[flight.Launch]*flight.Result{}
	}
	out := make([]*flight.Result, len(s))
	for i, shot := range s {
		l, ok := shot.launch()
		if !ok {
			continue
		}
		known, ok := j.flown[l]
		if !ok {
			if r, err := flight.Simulate(l, flight.Standard()); err == nil && r.Carry > 15 {
				known = &r
			}
			j.flown[l] = known
		}
		out[i] = known
	}
	return out
}

// launch is the shot's launch; spin from its parts where it is not given.
func (s Shot) launch() (l flight.Launch, ok bool) {
	ball, hasBall := s["ball_speed"]
	angle, hasAngle := s["launch_angle"]
	if !hasBall || !hasAngle {
		return l, false
	}
	spin, hasSpin := s["spin_rate"]
	axis, hasAxis := s["spin_axis"]
	back, hasBack := s["back_spin"]
	side, hasSide := s["side_spin"]
	if !hasSpin && hasBack {
		spin, hasSpin = math.Hypot(back, side), true
	}
	if !hasAxis && hasSide && hasSpin && spin > 0 {
		axis = math.Asin(max(-1, min(1, side/spin))) * 180 / math.Pi
	}
	if !hasSpin {
		return l, false
	}
	return flight.Launch{BallSpeed: ball, Angle: angle, Direction: s["launch_direction"], SpinRate: spin, SpinAxis: axis}, true
}

// curves says whether the shot tells how its ball curves: without an axis or a
// side spin, where it ends says little of where it started.
func (s Shot) curves() bool {
	_, axis := s["spin_axis"]
	_, side := s["side_spin"]
	return axis || side
}

// values returns a field of every shot that has it.
func (s Shots) values(field string) (out []float64) {
	for _, shot := range s {
		if v, ok := shot[field]; ok {
			out = append(out, v)
		}
	}
	return out
}

func median(values []float64) float64 {
	sorted := slices.Sorted(slices.Values(values))
	n := len(sorted)
	return (sorted[(n-1)/2] + sorted[n/2]) / 2
}
