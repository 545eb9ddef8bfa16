package plausible

import (
	"fmt"
	"math"

	"fairlead/processors/golf/flight"
)

// Break is a law of the game that a run of shots breaks as a whole.
type Break struct {
	Law    string   // what should hold
	Fields []string // between which
	By     float64  // in tolerances; more than 1 is a break
	Says   string   // what the shots say instead
}

// law is one relation between fields. miss returns by how much each shot that
// has them misses it, in tolerances and with a sign; n is how many had them.
type law struct {
	name   string
	fields []string
	says   func(m float64) string
	miss   func(s Shots, f []*flight.Result) []float64
	weight float64
}

// each builds a law that is asked of every shot alone.
func each(name string, tolerance, weight float64, says string, fields []string, miss func(s Shot, f *flight.Result) (float64, bool)) law {
	return law{name: name, fields: fields, weight: weight,
		says: func(m float64) string { return fmt.Sprintf(says, m*tolerance) },
		miss: func(s Shots, f []*flight.Result) (out []float64) {
			for i, shot := range s {
				if !shot.has(fields) {
					continue
				}
				if v, ok := miss(shot, f[i]); ok && !math.IsNaN(v) {
					out = append(out, v/tolerance)
				}
			}
			return out
		}}
}

// ratio builds one whose misses are 100 times the logarithm of a ratio; what it says is
// the ratio in percent, which no value misses by more than 100 downwards.
func ratio(name string, tolerance, weight float64, says string, fields []string, miss func(s Shot, f *flight.Result) (float64, bool)) law {
	l := each(name, tolerance, weight, says, fields, miss)
	l.says = func(m float64) string { return fmt.Sprintf(says, 100*math.Expm1(m*tolerance/100)) }
	return l
}

func (s Shot) has(fields []string) bool {
	for _, f := range fields {
		if _, ok := s[f]; !ok {
			return false
		}
	}
	return true
}

// flown builds a law between a field and what the model makes of the launch,
// as a ratio (tolerance in percent) or a difference.
func flown(name, field string, tolerance, weight float64, of func(r *flight.Result) float64, byRatio bool) law {
	says, build := "%+.1f against the flight of the launch", each
	if byRatio {
		says, build = "%+.0f %% against the flight of the launch", ratio
	}
	return build(name, tolerance, weight, says, []string{field, "ball_speed", "launch_angle"}, func(s Shot, f *flight.Result) (float64, bool) {
		if f == nil {
			return 0, false
		}
		want, have := of(f), s[field]
		if !byRatio {
			return have - want, true
		}
		if have <= 0 || want <= 0 {
			return -100, true
		}
		return 100 * math.Log(have/want), true
	})
}

// between is how far v lies outside of low..high; 0 within.
func between(v, low, high float64) float64 { return max(0, v-high) - max(0, low-v) }

// shortRun is how far in m a short shot may run beyond its carry.
const shortRun = 40.0

var laws = []law{
	flown("carry", "carry", 6.5, 1.6, func(r *flight.Result) float64 { return r.Carry }, true),
	flown("apex", "apex", 18, .7, func(r *flight.Result) float64 { return r.Apex }, true),
	flown("hang time", "hang_time", 12, .7, func(r *flight.Result) float64 { return r.HangTime }, true),
	flown("landing angle", "landing_angle", 8, .7, func(r *flight.Result) float64 { return r.LandingAngle }, false),
	flown("landing speed", "landing_speed", 18, .7, func(r *flight.Result) float64 { return r.LandingSpeed }, true),
	ratio("carry by ball speed", 35, .5, "%+.0f %% against what such a ball speed carries", []string{"carry", "ball_speed"},
		func(s Shot, f *flight.Result) (float64, bool) {
			if f != nil || s["ball_speed"] < 18 {
				return 0, false
			}
			if s["carry"] <= 0 {
				return -200, true
			}
			return 100 * math.Log(s["carry"]/(.395*math.Pow(s["ball_speed"], 1.5))), true
		}),
	each("smash", .03, 1.2, "the smash factor is %+.2f off ball speed by club speed", []string{"smash_factor", "ball_speed", "clubhead_speed"},
		func(s Shot, _ *flight.Result) (float64, bool) {
			return s["smash_factor"] - s["ball_speed"]/s["clubhead_speed"], s["clubhead_speed"] > 0
		}),
	each("speeds", .05, 1, "ball speed by club speed is %+.2f outside of what clubs do", []string{"ball_speed", "clubhead_speed"},
		func(s Shot, _ *flight.Result) (float64, bool) {
			return between(s["ball_speed"]/s["clubhead_speed"], .8, 1.56), s["clubhead_speed"] > 0
		}),
	each("smash alone", .04, .6, "the smash factor is %+.2f outside of what clubs do", []string{"smash_factor"},
		func(s Shot, _ *flight.Result) (float64, bool) {
			return between(s["smash_factor"], .8, 1.56), true
		}),
	ratio("spin parts", 6, 1.2, "%+.0f %% between the spin rate and its parts", []string{"spin_rate", "back_spin", "side_spin"},
		func(s Shot, _ *flight.Result) (float64, bool) {
			parts := math.Hypot(s["back_spin"], s["side_spin"])
			return 100 * math.Log(max(1, s["spin_rate"])/max(1, parts)), true
		}),
	ratio("back spin", 5, 1.1, "%+.0f %% between back spin and spin rate by the axis", []string{"spin_rate", "spin_axis", "back_spin"},
		func(s Shot, _ *flight.Result) (float64, bool) {
			return 100 * math.Log(max(1, s["back_spin"])/max(1, s["spin_rate"]*math.Cos(s["spin_axis"]*math.Pi/180))), true
		}),
	each("side spin by axis", 60, 1.2, "side spin is %+.0f rpm off spin rate by the axis", []string{"spin_rate", "spin_axis", "side_spin"},
		func(s Shot, _ *flight.Result) (float64, bool) {
			return s["side_spin"] - s["spin_rate"]*math.Sin(s["spin_axis"]*math.Pi/180), true
		}).scattered(),
	each("side spin by back spin", 1.5, 1.2, "the axis is %+.1f deg off side by back spin", []string{"back_spin", "spin_axis", "side_spin"},
		func(s Shot, _ *flight.Result) (float64, bool) {
			return s["spin_axis"] - math.Atan2(s["side_spin"], s["back_spin"])*180/math.Pi, s["back_spin"] > 0
		}).scattered(),
	each("face to path", .7, 1.2, "%+.1f deg off face angle less club path", []string{"face_to_path", "face_angle", "club_path"},
		func(s Shot, _ *flight.Result) (float64, bool) {
			return s["face_to_path"] - (s["face_angle"] - s["club_path"]), true
		}).scattered(),
	each("direction by face and path", 2.2, .9, "the ball starts %+.1f deg off where face and path send it",
		[]string{"launch_direction", "face_angle", "club_path"}, func(s Shot, _ *flight.Result) (float64, bool) {
			return s["launch_direction"] - (.78*s["face_angle"] + .22*s["club_path"]), true
		}).scattered(),
	each("spin loft", 3.5, .8, "%+.1f deg off dynamic loft less attack angle", []string{"spin_loft", "dynamic_loft", "attack_angle"},
		func(s Shot, _ *flight.Result) (float64, bool) {
			return s["spin_loft"] - (s["dynamic_loft"] - s["attack_angle"]), true
		}),
	each("launch by loft", 4, .7, "launch lies %+.1f deg outside of attack angle and dynamic loft", []string{"launch_angle", "dynamic_loft"},
		func(s Shot, _ *flight.Result) (float64, bool) {
			return between(s["launch_angle"], .5*s["dynamic_loft"]-1, s["dynamic_loft"]+1), true
		}),
	each("total by carry", 1.2, .8, "%+.0f %% outside of what a ball runs", []string{"total", "carry"},
		func(s Shot, _ *flight.Result) (float64, bool) {
			// A pitch of forty metres runs out by as much as it pleases.
			return 100 * between(s["total"]/max(1, s["carry"]), .99, max(1.4, 1+shortRun/s["carry"])), s["carry"] > 10
		}),
	each("tempo", .15, 1, "%+.2f off backswing by downswing", []string{"tempo", "backswing_time", "downswing_time"},
		func(s Shot, _ *flight.Result) (float64, bool) {
			return s["tempo"] - s["backswing_time"]/s["downswing_time"], s["downswing_time"] > 0
		}),
	each("spin by launch", 1, .35, "%+.1f outside of what a launch spins", []string{"spin_rate", "launch_angle"},
		func(s Shot, _ *flight.Result) (float64, bool) {
			return between(math.Log(max(1, s["spin_rate"])), math.Log(600+70*max(0, s["launch_angle"])),
				math.Log(4500+450*max(0, s["launch_angle"]))) / .4, true
		}),
	together("offline by direction and axis", []string{"offline", "ball_speed", "launch_angle", "launch_direction"}, 1.5,
		func(s Shot, f *flight.Result) (a, b float64, ok bool) {
			if f == nil || !s.curves() {
				return 0, 0, false
			}
			return s["offline"], f.Offline, true
		}),
	sides("offline by direction", []string{"offline", "launch_direction"}, 1, 1.2, func(s Shot, f *flight.Result) (a, b float64, ok bool) {
		if f != nil && s.curves() || s["carry"] < 10 {
			return 0, 0, false
		}
		return s["offline"], s["carry"] * math.Tan(s["launch_direction"]*math.Pi/180), true
	}),
	sides("total offline", []string{"total_offline", "offline"}, 1, .6, func(s Shot, _ *flight.Result) (a, b float64, ok bool) {
		return s["total_offline"], s["offline"], true
	}),
	sides("axis by face and path", []string{"spin_axis", "face_angle", "club_path"}, .6, 3,
		func(s Shot, _ *flight.Result) (a, b float64, ok bool) {
			return s["spin_axis"], 2.5 * (s["face_angle"] - s["club_path"]), true
		}),
}

// scattered makes a law whose misses may lie on both sides count by their size.
func (l law) scattered() law {
	miss := l.miss
	l.miss = func(s Shots, f []*flight.Result) []float64 {
		out := miss(s, f)
		for i, v := range out {
			out[i] = math.Abs(v)
		}
		return out
	}
	return l
}

// sides builds a law between two values of one sign and size: by the slope of
// one on the other through the origin, which should be 1. room is how far the
// slope may lie off it, in log units; a slope of the wrong sign breaks it well.
func sides(name string, fields []string, weight, room float64, of func(s Shot, f *flight.Result) (a, b float64, ok bool)) law {
	return law{name: name, fields: fields, weight: weight,
		says: func(m float64) string {
			if m <= -3 {
				return "they lie on opposite sides"
			}
			return fmt.Sprintf("one is %.1f times what the other makes", math.Exp(m*room))
		},
		miss: func(s Shots, f []*flight.Result) []float64 {
			var ab, aa, bb float64
			n := 0
			for i, shot := range s {
				if !shot.has(fields) {
					continue
				}
				if a, b, ok := of(shot, f[i]); ok {
					ab, aa, bb, n = ab+a*b, aa+a*a, bb+b*b, n+1
				}
			}
			if n < 3 || aa == 0 || bb == 0 {
				return nil
			}
			r := ab / math.Sqrt(aa*bb)
			switch {
			case math.Abs(r) < .6:
				return []float64{math.Abs(r) / 2} // says nothing of sides
			case r < 0:
				return []float64{-3 - 2*math.Abs(r)}
			case r < .85:
				return []float64{0}
			}
			return []float64{math.Log(math.Sqrt(aa/bb)) / room}
		}}
}

// together builds a law between two distances in m that should be the same shot
// by shot: by the share of one that the other leaves unexplained, with room for
// a metre of error.
func together(name string, fields []string, weight float64, of func(s Shot, f *flight.Result) (a, b float64, ok bool)) law {
	return law{name: name, fields: fields, weight: weight,
		says: func(m float64) string {
			return "they do not go together shot by shot: a side is turned, or a column is another"
		},
		miss: func(s Shots, f []*flight.Result) []float64 {
			var aa, bb, dd float64
			n := 0
			for i, shot := range s {
				if !shot.has(fields) {
					continue
				}
				if a, b, ok := of(shot, f[i]); ok {
					aa, bb, dd, n = aa+a*a, bb+b*b, dd+(a-b)*(a-b), n+1
				}
			}
			if n < 3 {
				return nil
			}
			rms := func(v float64) float64 { return math.Sqrt(v / float64(n)) }
			return []float64{rms(dd) / (.9 + .45*max(rms(aa), rms(bb)))}
		}}
}
