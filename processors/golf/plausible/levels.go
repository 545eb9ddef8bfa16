package plausible

import "math"

// level is where the median of a run of full swings lies, whoever swings.
type level struct {
	low, high float64
	size      bool // of the values without their sign
}

var levels = map[string]level{
	"ball_speed": {16, 88, false}, "clubhead_speed": {13, 60, false}, "launch_angle": {4, 48, false},
	"launch_direction": {0, 9, true}, "spin_rate": {1100, 11500, false}, "back_spin": {1000, 11500, false},
	"side_spin": {0, 2500, true}, "spin_axis": {0, 28, true}, "carry": {20, 310, false}, "total": {20, 340, false},
	"offline": {0, 32, true}, "total_offline": {0, 38, true}, "apex": {2.5, 55, false}, "landing_angle": {18, 65, false},
	"hang_time": {1.6, 8, false}, "attack_angle": {-9, 7, false}, "club_path": {0, 11, true}, "face_angle": {0, 11, true},
	"face_to_path": {0, 11, true}, "dynamic_loft": {6, 62, false}, "spin_loft": {8, 68, false}, "landing_speed": {13, 45, false},
	"strike_x": {0, .03, true}, "strike_y": {0, .025, true}, "dynamic_lie": {0, 14, true}, "swing_plane": {35, 75, false},
	"swing_direction": {0, 14, true}, "low_point": {0, .3, true}, "backswing_time": {.4, 1.6, false}, "downswing_time": {.15, .6, false},
	"tempo": {1.4, 5, false}, "closure_rate": {0, 900, true}, "air_temperature": {-15, 45, false}, "air_humidity": {.03, 1, false},
	"air_pressure": {6e4, 1.08e5, false},
}

// puttLevels are those of putts, where they differ.
var puttLevels = map[string]level{
	"ball_speed": {.4, 7, false}, "clubhead_speed": {.3, 5, false}, "launch_angle": {-6, 10, false}, "launch_direction": {0, 6, true},
	"putt_distance": {.4, 25, false}, "skid_distance": {.02, 3, false}, "forward_roll": {0, 600, true}, "roll_speed": {.2, 6, false},
	"stroke_length": {.04, .8, false}, "stroke_rotation": {0, 40, true}, "stroke_arc": {0, 30, true}, "face_angle": {0, 6, true},
	"club_path": {0, 8, true},
}

// levelOf is the level of a field; ok is false where there is none to know.
func levelOf(field string, putts bool) (level, bool) {
	if putts {
		l, ok := puttLevels[field]
		return l, ok
	}
	l, ok := levels[field]
	return l, ok
}

// off says by how many tolerances the median of a field lies outside of its
// level: the logarithm for values that have a scale, the distance for angles.
func (l level) off(values []float64) float64 {
	if l.size {
		sizes := make([]float64, len(values))
		for i, v := range values {
			sizes[i] = math.Abs(v)
		}
		return between(median(sizes), l.low, l.high) / (.35*l.high + 1e-9)
	}
	m := median(values)
	if l.low <= 0 {
		return between(m, l.low, l.high) / (.35 * (l.high - l.low))
	}
	if m <= 0 {
		return -9
	}
	return between(math.Log(m), math.Log(l.low), math.Log(l.high)) / .15
}
