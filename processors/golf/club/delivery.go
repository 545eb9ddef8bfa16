package club

import "math"

// Share of the angle from path to face at which the ball starts: between 0.61
// and 0.83 across clubs and players (Wood et al. 2018, Proceedings 2(6):249).
const (
	FaceShareLow  = 0.61
	FaceShareMid  = 0.72
	FaceShareHigh = 0.83
)

// Fault is a lie or loft that is not what the player needs.
type Fault struct {
	Loft      float64 // deg, of the face as delivered
	LieError  float64 // deg, positive too upright (toe up at impact)
	LoftError float64 // deg, positive too weak (too much loft)
	Carry     float64 // m
	Left      bool    // left-handed: an upright club then faces right
}

// FaultEffect is what the fault does to a ball that was hit as if the club
// were right. Azimuths are positive to the right of the target.
type FaultEffect struct {
	FaceAzimuth float64 // deg, where the face points
	LoftLost    float64 // deg, loft that tilting the face costs (small, of second order)
	// Start is where the ball starts, deg, for the middle share of face over
	// path; StartLow and StartHigh are for the ends of the published range.
	Start, StartLow, StartHigh float64
	// Offline is where Start alone takes the ball at its carry, m.
	Offline, OfflineLow, OfflineHigh float64
	// AxisTilt is the tilt of the spin axis in deg, positive to the right: the
	// ball goes on curving to the side it started to. How far depends on the
	// flight and is not in Offline.
	AxisTilt float64
	// Launch is the change of launch angle, deg, with the same shares, when the
	// delivered loft is off by as much as the club's.
	Launch, LaunchLow, LaunchHigh float64
}

// Effect computes the fault by turning the face's normal about the target
// line: with loft λ and lie error δ the face points δ·tan λ aside to first
// order (1° at 36° is .73°), exactly atan(sin δ · tan λ). The spin axis is
// normal to the path and the face's normal (D-plane, Jorgensen 1994, The
// Physics of Golf), here with a path level along the target line; its tilt is
// then δ itself, whatever the loft.
func (f Fault) Effect() (FaultEffect, error) {
	if err := firstError(
		within("loft", f.Loft, 0.5, 75, "deg", "give the delivered loft, such as 36deg"),
		within("lie error", f.LieError, -15, 15, "deg", "give the error, positive when too upright, not the lie itself"),
		within("loft error", f.LoftError, -10, 10, "deg", "give the error, positive when too weak, not the loft itself"),
		within("carry", f.Carry, 0, 400, "m", "give the player's carry with this club"),
	); err != nil {
		return FaultEffect{}, err
	}
	side := -1.0 // upright: left for a right-hander
	if f.Left {
		side = 1
	}
	const rad = math.Pi / 180
	loft, lie := f.Loft*rad, f.LieError*rad
	azimuth := side * math.Atan(math.Sin(lie)*math.Tan(loft)) / rad
	e := FaultEffect{
		FaceAzimuth: azimuth,
		LoftLost:    f.Loft - math.Asin(math.Sin(loft)*math.Cos(lie))/rad,
		Start:       FaceShareMid * azimuth, StartLow: FaceShareLow * azimuth, StartHigh: FaceShareHigh * azimuth,
		AxisTilt: side * f.LieError,
		Launch:   FaceShareMid * f.LoftError, LaunchLow: FaceShareLow * f.LoftError, LaunchHigh: FaceShareHigh * f.LoftError,
	}
	at := func(deg float64) float64 { return f.Carry * math.Tan(deg*rad) }
	e.Offline, e.OfflineLow, e.OfflineHigh = at(e.Start), at(e.StartLow), at(e.StartHigh)
	return e, nil
}
