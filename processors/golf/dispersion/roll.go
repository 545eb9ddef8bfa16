package dispersion

import "math"

// ballRadius in m, and the share of m·r² that a solid sphere's inertia is.
const (
	ballRadius  = 0.021335
	ballInertia = 0.4
)

// Roll is the way of one putt on a level green.
type Roll struct {
	Skid     float64 // m until it rolls
	Speed    float64 // m/s there
	Distance float64 // m until it rests, skid included
}

// Share is the part of the way on which the putt slides, 0 to 1.
func (r Roll) Share() float64 {
	if !(r.Distance > 0) {
		return 0
	}
	return min(r.Skid/r.Distance, 1)
}

// Roll follows a putt that leaves at speed (m/s) and launch (deg above the
// green) with forward spin (rpm, positive as in rolling; backspin is negative).
//
// Friction works on the sliding ball until it rolls: the slip v−rω falls by 7/2
// of what the speed loses, so it rolls at (5v+2rω)/7 (rigid-body mechanics of a
// solid sphere). A launched ball hops; its landings press it on the green as
// much as its weight would have while it was in the air, and by its first upward
// speed once more, so that friction has done its work that much sooner. The hops
// are taken as spread over the skid; bounce losses beyond that, grain and the
// dent that the ball stands in are not in it.
func (g Green) Roll(speed, launch, forward float64) Roll {
	sin, cos := math.Sincos(launch * math.Pi / 180)
	v, up := speed*cos, math.Abs(speed*sin)
	spin := ballRadius * forward * math.Pi / 30 // m/s at the surface
	out := Roll{Speed: (5*v + 2*spin) / 7}
	if out.Speed <= 0 {
		return Roll{} // so much backspin that it comes back: no putt
	}
	slip := math.Abs(v - spin)
	seconds := max((2*slip/(7*g.Friction)-up)/gravity, 0)
	out.Skid = (v + out.Speed) / 2 * seconds
	out.Distance = out.Skid + g.RollFrom(out.Speed)
	return out
}

// RollFrom is how far (m) a ball that rolls at a speed (m/s) still goes.
func (g Green) RollFrom(speed float64) float64 {
	return speed * speed * g.Run / (releaseSpeed * releaseSpeed)
}

// SpinOfLoft is the forward spin (rpm, negative: backspin) that a putter's face
// gives a ball of a speed (m/s), for a loft at impact and an attack angle in deg:
// the face grips, so that the contact point is at rest along it when the ball
// leaves (Penner 2001, Am. J. Phys. 69:563, for a head much heavier than the
// ball). A face with loft 0 that rises by 3° gives as much top spin as one with
// 3° that moves level gives backspin.
func SpinOfLoft(speed, loft, attack float64) float64 {
	slide := speed * math.Tan((loft-attack)*math.Pi/180)
	return -slide / (1 + ballInertia) / ballRadius * 30 / math.Pi
}
