package flight

import (
	"errors"
	"fmt"
)

// Adjusted is a carry brought to standard air.
type Adjusted struct {
	Carry   float64 // m, in standard air without wind
	Applied bool    // false when the device had adjusted the carry already: Carry is then as measured
	Ratio   float64 // of modelled carry in standard air to modelled carry in the real one; 1 when not applied
	Flags   Flags   // of either modelled flight
}

// ErrTooShort is returned by StandardAirCarry for a shot whose modelled carry
// is too small for a ratio to mean anything.
var ErrTooShort = errors.New("the modelled carry is below 5 m, so that a ratio of carries says nothing: leave this shot as measured")

// StandardAirCarry brings a measured carry (m, along the target line) to what
// the same launch would carry in standard air without wind, onto ground as
// high as the start, so that bays at different altitude, temperature and
// season compare. The measured carry is multiplied by the ratio of the
// modelled carries: what the model gets wrong about this ball then cancels to
// first order.
//
// A carry that the device has adjusted itself must never be adjusted twice:
// with alreadyAdjusted it comes back as it is, Applied false.
//
// Errors are those of Simulate, ErrTooShort, and an *InputError for the carry.
func StandardAirCarry(measuredCarry float64, l Launch, c Conditions, alreadyAdjusted bool) (Adjusted, error) {
	if err := boundCarry.check(measuredCarry); err != nil {
		return Adjusted{}, err
	}
	if alreadyAdjusted {
		return Adjusted{Carry: measuredCarry, Ratio: 1}, nil
	}
	actual, err := Simulate(l, c)
	if err != nil {
		return Adjusted{}, fmt.Errorf("flight in the actual air: %w", err)
	}
	c.Air, c.Wind, c.LandingHeight = StandardAir(), Wind{}, 0
	standard, err := Simulate(l, c)
	if err != nil {
		return Adjusted{}, fmt.Errorf("flight in standard air: %w", err)
	}
	if actual.Carry < 5 || standard.Carry < 5 {
		return Adjusted{}, ErrTooShort
	}
	ratio := standard.Carry / actual.Carry
	return Adjusted{
		Carry: measuredCarry * ratio, Applied: true, Ratio: ratio, Flags: actual.Flags | standard.Flags,
	}, nil
}

var boundCarry = bound{"measured carry", "m", "0 to 500 m", 0, 500}
