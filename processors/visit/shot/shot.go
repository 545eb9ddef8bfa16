// Package shot turns what a device wrote into what the project computes with:
// every measured value in the frame of the player's target (positive = right of
// it), and beside them, never mixed in, what we compute from them.
//
// It is pure: the same entry, hand and bearing always give the same values.
package shot

import (
	"math"
	"math/bits"
	"slices"

	"fairlead/ingest/contract/event"
	"fairlead/processors/golf/flight"
)

// Values are a shot's values in the target frame.
type Values struct {
	// V are the values of the fields in Has, in the order of their numbers, in
	// the stored unit of the field. Copies of Values share them: they are for
	// reading, and Put makes new ones.
	V []float64
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

// Modelled says whether anything of what is ours came out of the flight model. A carry
// that the device brought to standard air itself did not.
func (v *Values) Modelled() bool {
	return v.Ours.HasFlight || v.Ours.HasStandardAir && !(v.hasAll(event.Field_FIELD_CARRY) && v.AirAdjusted>>event.Field_FIELD_CARRY&1 != 0)
}

// hasAll says whether every one of the fields has a value.
func (v *Values) hasAll(fields ...event.Field) bool {
	for _, f := range fields {
		if v.Has>>f&1 == 0 {
			return false
		}
	}
	return true
}

// Get returns a field's value in the target frame.
func (v *Values) Get(f event.Field) (float64, bool) {
	if f <= 0 || f >= 64 || v.Has>>f&1 == 0 {
		return 0, false
	}
	return v.V[v.at(f)], true
}

// at is the place of a field among the values.
func (v *Values) at(f event.Field) int { return bits.OnesCount64(v.Has & (1<<f - 1)) }

// Put gives a field a value.
func (v *Values) Put(f event.Field, x float64) {
	v.V = slices.Clone(v.V)
	if i := v.at(f); v.Has>>f&1 != 0 {
		v.V[i] = x
	} else {
		v.V = slices.Insert(v.V, i, x)
		v.Has |= 1 << f
	}
}

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
func Of(e *event.Entry, frame Frame) Values { return Read(event.ReadingsOf(e), frame) }

// Read is Of, from an entry's readings. Where nothing turns, the values share
// their memory.
func Read(r event.Readings, frame Frame) Values {
	v := Values{V: r.Values, Has: r.Has, Measured: r.Measured, Computed: r.Computed, AirAdjusted: r.AirAdjusted, AirAsFlown: r.AirAsFlown}
	var mirrored uint64
	if frame.Left {
		mirrored = r.Handed & event.Mirroring()
	}
	if mirrored != 0 || frame.BearingDeg != 0 {
		v.V = slices.Clone(v.V)
		for ; mirrored != 0; mirrored &= mirrored - 1 {
			i := v.at(event.Field(bits.TrailingZeros64(mirrored)))
			v.V[i] = -v.V[i]
		}
		v.turn(frame.BearingDeg)
	}
	v.Derive()
	return v
}

// turn moves directions and points from the device's zero line to the target line.
func (v *Values) turn(bearing float64) {
	if bearing == 0 {
		return
	}
	for _, f := range turning {
		if v.Has>>f&1 != 0 {
			v.V[v.at(f)] -= bearing
		}
	}
	sin, cos := math.Sincos(bearing * math.Pi / 180)
	for _, p := range points {
		along, ok1 := v.Get(p[0])
		beside, ok2 := v.Get(p[1])
		if !ok1 || !ok2 {
			continue
		}
		v.V[v.at(p[0])], v.V[v.at(p[1])] = along*cos+beside*sin, beside*cos-along*sin
	}
}

// Derive computes what is ours from the values in the target frame, anew: whoever has
// them stored computes with the flight model of now, and not with that of the day.
func (v *Values) Derive() {
	v.Ours = Ours{}
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

// LandsByModel says whether Landing is what the flight model makes of the launch.
func (v *Values) LandsByModel() bool {
	return v.Ours.HasFlight && !v.hasAll(event.Field_FIELD_CARRY, event.Field_FIELD_OFFLINE)
}

// Landing returns the point where the ball landed, measured before computed.
func (v *Values) Landing() (carry, offline float64, ok bool) {
	if v.hasAll(event.Field_FIELD_CARRY, event.Field_FIELD_OFFLINE) {
		return v.V[v.at(event.Field_FIELD_CARRY)], v.V[v.at(event.Field_FIELD_OFFLINE)], true
	}
	if v.Ours.HasFlight {
		return v.Ours.Carry, v.Ours.Offline, true
	}
	return 0, 0, false
}
