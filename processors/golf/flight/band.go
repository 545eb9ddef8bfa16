package flight

import (
	"errors"
	"math"
)

// Band is how far a computed flight may be off for a ball of which nothing is
// known, as standard deviations: m of carry, apex and total, deg of landing angle.
type Band struct{ Carry, Apex, Landing, Total float64 }

const (
	// betweenBalls is the share of carry by which balls of one launch differ: 13
	// models of production balls carried over a range of 18 m when their measured
	// lift and drag were flown (Lyu, Kensrud, Smith & Rasmussen 2018, Proceedings
	// 2(6):238). The range of 13 normal values is 3.34 standard deviations, and a
	// drive of that paper is about 240 m.
	betweenBalls = 18 / 3.34 / 240
	// The mean errors of the default model on averages that were kept out of its fit
	// (testdata/flight/averages.json), as standard deviations: 2.9 yd of carry, 1.9 yd
	// of apex, 1.2° of landing.
	heldOutCarry = 2.9 * 0.9144 * 1.2533
	heldOutApex  = 1.9 * 0.9144 * 1.2533
	landingFloor = 1.2 * 1.2533
	// runShare is how little is known of the run, as a share of it, for one kind of
	// ground.
	runShare = 0.3
	leastRun = 3.0 // m
)

// BandOf says how far a flight that came out as r may be off. It adds up what
// balls differ by, what the default model was off by on flights that it had not
// seen, and how far the models that are fitted to flights disagree about this
// launch (those of wind tunnels are of older balls, and cross-checks), each about
// the one chosen. Where a launch lies beyond what they were fitted to they disagree
// more, and the band grows by itself. Launch errors of the device are not in it,
// nor is wind.
//
// The models are of balls of different years, so that a part of what balls differ
// by is counted twice: the band is rather too wide.
func BandOf(l Launch, c Conditions, r Result) (Band, error) {
	var carry, apex, landing float64
	n := 0.0
	for _, m := range []Model{Ferguson(), Quintavalla()} {
		if m.Name == c.Model.Name {
			continue
		}
		c.Model = m
		other, err := Simulate(l, c)
		switch {
		case errors.Is(err, ErrNeverReaches):
			continue
		case err != nil:
			return Band{}, err
		}
		n++
		carry += square(other.Distance() - r.Distance())
		apex += square(other.Apex - r.Apex)
		landing += square(other.LandingAngle - r.LandingAngle)
	}
	n = max(n, 1)
	out := Band{
		Carry:   math.Sqrt(carry/n + square(betweenBalls*r.Distance()) + square(min(heldOutCarry, r.Distance()/4))),
		Apex:    math.Sqrt(apex/n + square(betweenBalls*r.Apex) + square(min(heldOutApex, r.Apex/4))),
		Landing: math.Sqrt(landing/n + square(min(landingFloor, r.LandingAngle/4))),
	}
	out.Total = math.Sqrt(square(out.Carry) + square(max(runShare*math.Abs(r.Run()), leastRun)))
	return out, nil
}

func square(x float64) float64 { return x * x }
