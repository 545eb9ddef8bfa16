package impact

import "fairlead/processors/golf/flight"

// Delivery is how the club arrives at the ball.
type Delivery struct {
	HeadSpeed   float64 // m/s of the head at the strike's height, above 0
	Attack      float64 // deg, positive when the head rises
	DynamicLoft float64 // deg of the face's normal above the horizon, at the centre of the face
	Path        float64 // deg, positive right of the target
	Face        float64 // deg, positive right of the target, at the centre of the face
	StrikeX     float64 // m from the face's geometric centre, positive toward the toe
	StrikeY     float64 // m above it
	LeftHanded  bool    // the toe then points left of the target
}

// Mirrored is the delivery seen in a mirror along the target line: the same
// swing by a player of the other hand.
func (d Delivery) Mirrored() Delivery {
	d.Path, d.Face, d.LeftHanded = -d.Path, -d.Face, !d.LeftHanded
	return d
}

// Check returns a *flight.InputError when the delivery cannot be computed.
func (d *Delivery) Check() error {
	for _, in := range [...]struct {
		field, unit, want string
		v, low, high      float64
	}{
		{"clubhead speed", "m/s", "0.5 to 80 m/s", d.HeadSpeed, 0.5, 80},
		{"attack angle", "deg", "-30 to 30 deg", d.Attack, -30, 30},
		{"dynamic loft", "deg", "-20 to 85 deg", d.DynamicLoft, -20, 85},
		{"club path", "deg", "-45 to 45 deg", d.Path, -45, 45},
		{"face angle", "deg", "-45 to 45 deg", d.Face, -45, 45},
		{"strike x", "m", "-0.06 to 0.06 m from the face's centre, toe positive", d.StrikeX, -0.06, 0.06},
		{"strike y", "m", "-0.04 to 0.04 m from the face's centre, up positive", d.StrikeY, -0.04, 0.04},
	} {
		if !(in.v >= in.low && in.v <= in.high) {
			return &flight.InputError{Field: in.field, Value: in.v, Unit: in.unit, Want: in.want}
		}
	}
	return nil
}
