// Package shot turns what a device wrote into what the project computes with:
// every measured value in the frame of the player's target (positive = right of
// it), and beside them, never mixed in, what we compute from them.
//
// It is pure: the same entry, hand and bearing always give the same values.
package shot

import (
	"math"

	"fairlead/ingest/event"
	"fairlead/processors/flight"
)

// Size is one more than the highest field number of the contract; field
// numbers stay below 64, so that a set of fields is a bit mask.
const Size = 63

// Values are a shot's values in the target frame.
type Values struct {
	V [Size]float64 // by field number, in the stored unit of the field
	// Sets of fields, bit 1<<number: present, measured by the device, computed
	// by the device, already turned to standard air, as flown.
	Has, Measured, Computed, AirAdjusted, AirAsFlown uint64

	// What we computed; NaN-free, see Has bits of Ours.
	Ours Ours
}

// Ours are values computed by Fairlead. A false Has means that the shot does
// not give enough for it, or that the device measured it and nothing had to be
// filled in.
type Ours struct {
	Direction      float64 // deg of the landing point from the target line
	HasDirection   bool
	Carry          float64 // m, in the air of the day or, unknown, standard air
	Offline        float64 // m
	Apex           float64 // m
	LandingAngle   float64 // deg
	HasFlight      bool    // carry, offline, apex and landing are filled
	StandardCarry  float64 // m, the same shot in standard air
	HasStandardAir bool
}

// Frame is what must be known of the visit to read a device's directions.
type Frame struct {
	// Left: the hitter is left-handed; turns values that the device counts by hand.
	Left bool
	// BearingDeg is the target's direction against the device's zero line,
	// positive right.
	BearingDeg float64
}

// Get returns a field's value in the target frame.
func (v *Values) Get(f event.Field) (float64, bool) {
	if f <= 0 || int(f) >= Size || v.Has&(1<<f) == 0 {
		return 0, false
	}
	return v.V[f], true
}

func (v *Values) set(f event.Field, x float64) { v.V[f] = x; v.Has |= 1 << f }

// angles that turn with the target's bearing.
var turning = [...]event.Field{
	event.Field_FIELD_LAUNCH_DIRECTION, event.Field_FIELD_CLUB_PATH, event.Field_FIELD_FACE_ANGLE, event.Field_FIELD_SWING_DIRECTION,
}

// points that turn with it: along and beside the target line.
var points = [...][2]event.Field{
	{event.Field_FIELD_CARRY, event.Field_FIELD_OFFLINE}, {event.Field_FIELD_TOTAL, event.Field_FIELD_TOTAL_OFFLINE},
}

// Of reads an entry's measures into the target frame and computes what they
// allow. Measures that are not finite or that this contract does not know are
// left out. The entry is not changed.
func Of(e *event.Entry, frame Frame) Values {
	var v Values
	for _, m := range e.GetMeasures() {
		if m.Field <= 0 || int(m.Field) >= Size || math.IsNaN(m.Value) || math.IsInf(m.Value, 0) {
			continue
		}
		info, ok := m.Field.Info()
		if !ok {
			continue
		}
		x := m.Value
		if m.Handed && frame.Left && info.Mirrors {
			x = -x
		}
		v.set(m.Field, x)
		bit := uint64(1) << m.Field
		switch m.Provenance {
		case event.Provenance_PROVENANCE_MEASURED:
			v.Measured |= bit
		case event.Provenance_PROVENANCE_DEVICE:
			v.Computed |= bit
		}
		switch m.AirAdjusted {
		case event.AirAdjusted_AIR_ADJUSTED:
			v.AirAdjusted |= bit
		case event.AirAdjusted_AIR_AS_FLOWN:
			v.AirAsFlown |= bit
		}
	}
	v.turn(frame.BearingDeg)
	v.derive()
	return v
}

// turn moves directions and points from the device's zero line to the target line.
func (v *Values) turn(bearing float64) {
	if bearing == 0 {
		return
	}
	for _, f := range turning {
		if v.Has&(1<<f) != 0 {
			v.V[f] -= bearing
		}
	}
	sin, cos := math.Sincos(bearing * math.Pi / 180)
	for _, p := range points {
		along, ok1 := v.Get(p[0])
		beside, ok2 := v.Get(p[1])
		if !ok1 || !ok2 {
			continue
		}
		v.V[p[0]], v.V[p[1]] = along*cos+beside*sin, beside*cos-along*sin
	}
}

// derive computes what is ours.
func (v *Values) derive() {
	carry, hasCarry := v.Get(event.Field_FIELD_CARRY)
	offline, hasOffline := v.Get(event.Field_FIELD_OFFLINE)
	_, hasLanding := v.Get(event.Field_FIELD_LANDING_ANGLE)
	launch, hasLaunch := v.Launch()
	conditions, knownAir := v.Conditions()
	if hasLaunch && (!hasCarry || !hasOffline || !hasLanding) {
		if r, err := flight.Simulate(launch, conditions); err == nil {
			v.Ours.Carry, v.Ours.Offline, v.Ours.Apex, v.Ours.LandingAngle, v.Ours.HasFlight = r.Carry, r.Offline, r.Apex, r.LandingAngle, true
		}
	}
	if hasCarry && hasOffline && carry > 0 {
		v.Ours.Direction, v.Ours.HasDirection = math.Atan2(offline, carry)*180/math.Pi, true
	} else if d, ok := v.Get(event.Field_FIELD_LAUNCH_DIRECTION); ok && !hasCarry && !v.Ours.HasFlight {
		v.Ours.Direction, v.Ours.HasDirection = d, true // a putt's start line
	} else if v.Ours.HasFlight && v.Ours.Carry > 0 {
		v.Ours.Direction, v.Ours.HasDirection = math.Atan2(v.Ours.Offline, v.Ours.Carry)*180/math.Pi, true
	}
	v.standardAir(carry, hasCarry, launch, hasLaunch, conditions, knownAir)
}

// standardAir fills the standard-air carry: the measured one times what the
// model says the air did to it. Unknown where the air is not known.
func (v *Values) standardAir(carry float64, hasCarry bool, launch flight.Launch, hasLaunch bool, c flight.Conditions, knownAir bool) {
	const bit = uint64(1) << event.Field_FIELD_CARRY
	switch {
	case hasCarry && v.AirAdjusted&bit != 0:
		v.Ours.StandardCarry, v.Ours.HasStandardAir = carry, true
	case knownAir && hasLaunch && (!hasCarry || v.AirAsFlown&bit != 0):
		standard, err := flight.Simulate(launch, flight.Standard())
		if err != nil {
			return
		}
		if !hasCarry {
			v.Ours.StandardCarry, v.Ours.HasStandardAir = standard.Carry, true
			return
		}
		flown, err := flight.Simulate(launch, c)
		if err != nil || flown.Carry <= 0 {
			return
		}
		v.Ours.StandardCarry, v.Ours.HasStandardAir = carry*standard.Carry/flown.Carry, true
	}
}

// Launch returns the ball's launch; ok is false when ball speed, launch angle
// or spin is missing (a missing direction or axis is taken as zero).
func (v *Values) Launch() (l flight.Launch, ok bool) {
	speed, ok1 := v.Get(event.Field_FIELD_BALL_SPEED)
	angle, ok2 := v.Get(event.Field_FIELD_LAUNCH_ANGLE)
	spin, ok3 := v.Get(event.Field_FIELD_SPIN_RATE)
	axis, _ := v.Get(event.Field_FIELD_SPIN_AXIS)
	if back, ok := v.Get(event.Field_FIELD_BACK_SPIN); ok && !ok3 {
		side, _ := v.Get(event.Field_FIELD_SIDE_SPIN)
		spin, axis, ok3 = math.Hypot(back, side), math.Atan2(side, back)*180/math.Pi, true
	}
	direction, _ := v.Get(event.Field_FIELD_LAUNCH_DIRECTION)
	return flight.Launch{BallSpeed: speed, Angle: angle, Direction: direction, SpinRate: spin, SpinAxis: axis}, ok1 && ok2 && ok3
}

// Conditions returns the air of the shot; known is false when the device did
// not give temperature and pressure, and the air is then the standard one.
func (v *Values) Conditions() (c flight.Conditions, known bool) {
	c = flight.Standard()
	t, ok1 := v.Get(event.Field_FIELD_AIR_TEMPERATURE)
	p, ok2 := v.Get(event.Field_FIELD_AIR_PRESSURE)
	if !ok1 || !ok2 {
		return c, false
	}
	humidity, _ := v.Get(event.Field_FIELD_AIR_HUMIDITY)
	air, err := flight.AirAt(t, p, humidity)
	if err != nil {
		return c, false
	}
	c.Air = air
	return c, true
}

// Landing returns the point where the ball landed, measured before computed.
func (v *Values) Landing() (carry, offline float64, ok bool) {
	carry, ok1 := v.Get(event.Field_FIELD_CARRY)
	offline, ok2 := v.Get(event.Field_FIELD_OFFLINE)
	if ok1 && ok2 {
		return carry, offline, true
	}
	if v.Ours.HasFlight {
		return v.Ours.Carry, v.Ours.Offline, true
	}
	return 0, 0, false
}
