package impact

import (
	"fmt"
	"math"

	"fairlead/processors/golf/flight"
)

// Doubt is a reason to doubt a measured launch: it does not go with the
// delivery measured beside it.
type Doubt struct {
	Field    string  // what is doubted
	Measured float64 // as given
	Low      float64 // the least that the model allows
	High     float64 // the most
	Why      string
}

// The room that Plausible gives around the model. It is wide: it has to cover
// every head, ball, strike and device error, so that what falls outside is a
// misread, a wrong unit or a sensor fault rather than a surprising shot.
const (
	smashSlack = 0.04 // of smash above the best possible strike
	smashWorst = 0.55 // share of the model's ball speed that a poor strike still has
	spinLeast  = 0.35 // share of the model's spin
	spinMost   = 1.9
	spinRoom   = 1500 // rpm
	launchRoom = 9.0  // deg around the span from path (or attack) to face (or loft)
)

// Plausible compares a measured launch with the delivery measured with it and
// lists what cannot well be true together; empty when all can. Strike offset
// is not used: it is seldom measured. Errors are those of Strike.
func Plausible(l flight.Launch, d Delivery, h Head) ([]Doubt, error) {
	if err := l.Check(); err != nil {
		return nil, err
	}
	d.StrikeX, d.StrikeY = 0, 0
	r, err := Strike(d, h)
	if err != nil {
		return nil, err
	}
	var doubts []Doubt
	check := func(field string, v, low, high float64, why string) {
		if v < low || v > high {
			doubts = append(doubts, Doubt{field, v, low, high, why})
		}
	}
	e := h.Restitution
	if e == 0 {
		e = h.RestitutionAtRest
	}
	best := (1+e)/(1+ballMass/h.Mass) + smashSlack
	check("ball speed", l.BallSpeed, smashWorst*r.Launch.BallSpeed, best*d.HeadSpeed,
		fmt.Sprintf("a head of %.0f g at %.1f m/s gives at most a smash of %.2f", h.Mass*1000, d.HeadSpeed, best))
	check("spin rate", l.SpinRate, spinLeast*r.Launch.SpinRate-spinRoom, spinMost*r.Launch.SpinRate+spinRoom,
		fmt.Sprintf("a spin loft of %.1f deg at this speed gives about %.0f rpm", r.SpinLoft, r.Launch.SpinRate))
	check("launch angle", l.Angle, math.Min(d.Attack, d.DynamicLoft)-launchRoom, math.Max(d.Attack, d.DynamicLoft)+launchRoom,
		"the ball leaves between attack angle and dynamic loft")
	check("launch direction", l.Direction, math.Min(d.Path, d.Face)-launchRoom, math.Max(d.Path, d.Face)+launchRoom,
		"the ball leaves between path and face")
	return doubts, nil
}
