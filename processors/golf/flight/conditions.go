package flight

import "math"

// Gravity is the acceleration in m/s² used throughout (standard gravity).
const Gravity = 9.80665

// spinDecay is the constant c in dω/dt = -c·ωV/r (US patent 6,186,002).
const spinDecay = 2e-5

// Ball is the ball's size and mass. The rules of golf allow at most 45.93 g
// and at least 42.67 mm of diameter; the standard ball sits at both limits.
type Ball struct {
	Mass   float64 // kg
	Radius float64 // m
}

// StandardBall is a ball at the limits of the rules.
func StandardBall() Ball { return Ball{Mass: 0.04593, Radius: 0.021335} }

// Wind is a steady wind, the same at every height.
type Wind struct {
	Speed float64 // m/s, 0 or more
	From  float64 // deg the wind comes from: 0 from the target (against the player), 90 from the right, 180 from behind
}

// vector is the wind's velocity in m/s down range and to the right.
func (w Wind) vector() (downRange, right float64) {
	sin, cos := math.Sincos(w.From * math.Pi / 180)
	return -w.Speed * cos, -w.Speed * sin
}

// Conditions is everything about a flight that is not the shot itself.
type Conditions struct {
	Air    Air
	Wind   Wind
	Model  Model
	Ball   Ball
	Ground Ground
	// LandingHeight is the height in m of the ground where the ball lands
	// above the point where the ball starts: negative from a tee peg or a hill.
	LandingHeight float64
}

// Standard is standard air without wind, level medium ground, a ball at the
// limits of the rules and the whole-bag model.
func Standard() Conditions {
	return Conditions{Air: StandardAir(), Model: Averages(), Ball: StandardBall(), Ground: MediumGround()}
}

var (
	boundWind    = bound{"wind speed", "m/s", "0 to 40 m/s", 0, 40}
	boundFrom    = bound{"wind direction", "deg", "-360 to 360 deg", -360, 360}
	boundMass    = bound{"ball mass", "kg", "0.03 to 0.06 kg", 0.03, 0.06}
	boundRadius  = bound{"ball radius", "m", "0.015 to 0.03 m", 0.015, 0.03}
	boundLanding = bound{"landing height", "m", "-100 to 100 m", -100, 100}
)

// Check returns an *InputError when the conditions cannot be computed with.
func (c *Conditions) Check() error {
	if err := boundDensity.check(c.Air.Density); err != nil {
		return err
	}
	if err := boundViscosity.check(c.Air.Viscosity); err != nil {
		return err
	}
	if err := boundWind.check(c.Wind.Speed); err != nil {
		return err
	}
	if err := boundFrom.check(c.Wind.From); err != nil {
		return err
	}
	if err := boundMass.check(c.Ball.Mass); err != nil {
		return err
	}
	if err := boundRadius.check(c.Ball.Radius); err != nil {
		return err
	}
	if err := boundLanding.check(c.LandingHeight); err != nil {
		return err
	}
	if err := c.Model.check(); err != nil {
		return err
	}
	return c.Ground.check()
}

// Mirrored returns the conditions as seen in a mirror along the target line.
func (c Conditions) Mirrored() Conditions {
	c.Wind.From = -c.Wind.From
	return c
}
