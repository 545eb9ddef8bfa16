package rolling

import (
	"fairlead/ingest/contract/event"
	"fairlead/processors/golf/dispersion"
	"fairlead/processors/visit/shot"
)

// ordinary is the green of which nothing is known: medium speed, and the
// friction of short grass.
var ordinary = dispersion.Green{Run: 3, Friction: 0.4}

// skidShare is the part of a putt's way on which it slides: as measured, else
// from what the device says of the ball's spin and the green's speed. Without
// either nothing is said, because every putt without spin slides the same part.
func skidShare(v *shot.Values, run float64) (float64, bool) {
	skid, measured := v.Get(event.Field_FIELD_SKID_DISTANCE)
	if whole, ok := v.Get(event.Field_FIELD_PUTT_DISTANCE); measured && ok && whole > 0 && skid <= whole {
		return skid / whole, true
	}
	speed, ok := v.Get(event.Field_FIELD_BALL_SPEED)
	if !ok || !(speed > 0) {
		return 0, false
	}
	green := ordinary
	if run > 0 {
		green.Run = run
	}
	launch, _ := v.Get(event.Field_FIELD_LAUNCH_ANGLE)
	forward, spun := v.Get(event.Field_FIELD_FORWARD_ROLL)
	r := green.Roll(speed, launch, forward)
	if measured {
		rolling, ok := v.Get(event.Field_FIELD_ROLL_SPEED)
		if !ok {
			rolling = r.Speed
		}
		r = dispersion.Roll{Skid: skid, Distance: skid + green.RollFrom(rolling)}
	}
	return r.Share(), (measured || spun) && r.Distance > 0
}
