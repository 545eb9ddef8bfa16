package impact

import (
	"math"

	"fairlead/processors/golf/flight"
)

// The ball of the equations: solid enough that its moment of inertia is that
// of a uniform sphere, 0.4·m·r².
const (
	ballMass   = 0.0459  // kg, as in Penner 2001
	ballRadius = 0.02135 // m, as in Penner 2001
	spinArm    = 2.5     // m·r²/I
)

// Result is what the ball does, and how it came to it.
type Result struct {
	Launch        flight.Launch
	Smash         float64 // ball speed over clubhead speed
	SpinLoft      float64 // deg between club velocity and face normal where the ball was struck
	Restitution   float64 // e that was used
	EffectiveMass float64 // kg of head that the ball felt
	Twist         float64 // deg that the face turned to the right while the ball was on it
	Tilt          float64 // deg that it turned up
	Gear          float64 // rpm of sidespin from the gear effect, positive curves right
	GearBack      float64 // rpm of backspin from the gear effect; negative for a high strike
	Slipped       bool    // friction gave out before the ball gripped
}

// Strike computes the launch of a delivery with a head. It allocates nothing.
// The error is a *flight.InputError.
//
// With θ the spin loft, v the clubhead speed, M' the mass felt, m and r the
// ball's mass and radius (Penner 2001, Am. J. Phys. 69:563):
//
//	normal      vₙ = (1+e)·v·cosθ/(1+m/M')
//	tangential  vₚ = (1+Grip)·v·sinθ/(1+m/M+m·r²/I), at most Friction·vₙ
//	spin        ω  = m·vₚ·r/I
//
// The gear effect adds the face's own motion, Depth times the head's turning,
// to the tangential speed of the club; the ball rolls on it (Grip, calibrated
// on centred strikes, does not enter). The spin axis is that of the D-plane,
// given as its tilt against the horizon.
func Strike(d Delivery, h Head) (Result, error) {
	if err := d.Check(); err != nil {
		return Result{}, err
	}
	if err := h.Check(); err != nil {
		return Result{}, err
	}
	toward := 1.0 // +1 when the toe points right of the target
	if d.LeftHanded {
		toward = -1
	}
	loft, face := d.DynamicLoft, d.Face
	if h.Bulge > 0 {
		face += toward * degrees(d.StrikeX/h.Bulge)
	}
	if h.Roll > 0 {
		loft += degrees(d.StrikeY / h.Roll)
	}
	club := pointing(d.Attack, d.Path)

	// Turning per normal impulse, rad/s per N·s, of the head struck off its
	// centre of gravity, and the mass that the ball feels.
	x, y := d.StrikeX-h.SweetX, d.StrikeY-h.SweetY
	var turnToe, turnUp float64
	inverseMass := 1 / h.Mass
	if h.InertiaVertical > 0 {
		turnToe = x / h.InertiaVertical
		inverseMass += x * turnToe
	}
	if h.InertiaHeelToe > 0 {
		turnUp = y / h.InertiaHeelToe
		inverseMass += y * turnUp
	}

	r := Result{EffectiveMass: 1 / inverseMass}
	normal := pointing(loft, face)
	cos := club.dot(normal)
	r.SpinLoft = degrees(math.Acos(min(1, cos)))
	if r.SpinLoft > 85 {
		return Result{}, &flight.InputError{Field: "spin loft", Value: r.SpinLoft, Unit: "deg",
			Want: "a delivery whose face meets the ball: dynamic loft less attack, with face to path, below 85 deg"}
	}
	// The first pass gives the impulse that turns the face; the second uses
	// the face as it points on average while the ball is on it.
	impulse := ballMass * h.normalSpeed(d.HeadSpeed*cos, inverseMass, &r.Restitution)
	r.Twist = toward * degrees(0.5*h.Contact*impulse*turnToe)
	r.Tilt = degrees(0.5 * h.Contact * impulse * turnUp)
	normal = pointing(loft+r.Tilt, face+r.Twist)
	cos = club.dot(normal)
	if cos < 0.05 {
		return Result{}, &flight.InputError{Field: "strike", Value: math.Hypot(d.StrikeX, d.StrikeY), Unit: "m",
			Want: "a strike nearer to the centre, or a head with more inertia: this one turns away from the ball"}
	}
	vn := h.normalSpeed(d.HeadSpeed*cos, inverseMass, &r.Restitution)
	impulse = ballMass * vn

	right := pointing(0, face+r.Twist+90)
	up := normal.cross(right.times(-1))
	along := club.sub(normal.times(cos)).times(d.HeadSpeed)
	gear := right.times(toward * turnToe * impulse * h.Depth).add(up.times(turnUp * impulse * h.Depth))
	rolling := 1 / (1 + ballMass/h.Mass + spinArm)
	gear = gear.times(rolling)
	tangential := along.times((1 + h.Grip) * rolling).add(gear)
	if speed := tangential.length(); h.Friction > 0 && speed > h.Friction*vn {
		share := h.Friction * vn / speed
		tangential, gear = tangential.times(share), gear.times(share)
		r.Slipped = true
	}

	velocity := normal.times(vn).add(tangential)
	spin := tangential.cross(normal).times(spinArm / ballRadius)
	r.Launch = launchOf(velocity, spin)
	r.Smash = r.Launch.BallSpeed / d.HeadSpeed
	const rpm = 30 / math.Pi
	r.Gear = 0 - gear.dot(right)*spinArm/ballRadius*rpm
	r.GearBack = 0 - gear.dot(up)*spinArm/ballRadius*rpm
	return r, nil
}

// normalSpeed is the ball's speed along the normal for a head's speed along
// it, and leaves the restitution used in e.
func (h *Head) normalSpeed(along, inverseMass float64, e *float64) float64 {
	*e = h.Restitution
	if h.Restitution == 0 {
		*e = max(0, h.RestitutionAtRest-h.RestitutionSlope*along)
	}
	return (1 + *e) * along / (1 + ballMass*inverseMass)
}

// launchOf describes a velocity in m/s and a spin vector in rad/s as a launch.
// The tilt is the angle of the spin axis against the horizon: its right end
// low tilts the ball right.
func launchOf(velocity, spin vec) flight.Launch {
	l := flight.Launch{BallSpeed: velocity.length()}
	l.Angle, l.Direction = velocity.angles()
	size := spin.length()
	l.SpinRate = size * 30 / math.Pi
	l.Direction += 0 // a straight shot has a plain zero, never -0
	if size > 1e-9 {
		l.SpinAxis = degrees(math.Asin(max(-1, min(1, (0-spin.z)/size))))
		if right := pointing(0, l.Direction+90); spin.dot(right) < 0 { // topspin
			l.SpinAxis = math.Copysign(180, l.SpinAxis) - l.SpinAxis
		}
	}
	return l
}
