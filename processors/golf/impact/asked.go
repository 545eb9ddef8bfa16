package impact

import (
	"errors"
	"fmt"

	"fairlead/ingest/contract/unit"
	"fairlead/processors/golf/flight"
)

// Asked is a delivery as somebody writes it down.
type Asked struct {
	HeadSpeed, Attack, DynamicLoft, Path, Face *unit.Value
	StrikeX, StrikeY                           *unit.Value
	Left                                       bool // a left-handed player
	Head                                       WrittenHead
	Before                                     string // how the delivery was before, as FLAG=VALUE,...; empty: not said
}

// Table computes a bag from the clubhead speed of the driver, which is all that it takes.
func (a *Asked) Table(c flight.Conditions) (Computation, error) {
	if !a.HeadSpeed.Given {
		return nil, errNoSpeed
	}
	if a.Before != "" || unit.AnyGiven(a.DynamicLoft, a.Attack, a.Path, a.Face, a.StrikeX, a.StrikeY) {
		return nil, errors.New("--table takes only --head-speed, the driver's, and the air: its deliveries are its own")
	}
	return Table(a.HeadSpeed.V, c)
}

var errNoSpeed = errors.New("an impact needs --head-speed")

// Strike tells of the delivery and the flight that follows; where it is said how
// the delivery was before, the change is split.
func (a *Asked) Strike(c flight.Conditions) (*Account, error) {
	if !a.HeadSpeed.Given {
		return nil, errNoSpeed
	}
	if !a.DynamicLoft.Given {
		return nil, errors.New("an impact needs --dynamic-loft")
	}
	return TellStrike(Delivery{
		HeadSpeed: a.HeadSpeed.V, Attack: a.Attack.V, DynamicLoft: a.DynamicLoft.V, Path: a.Path.V, Face: a.Face.V,
		StrikeX: a.StrikeX.V, StrikeY: a.StrikeY.V, LeftHanded: a.Left,
	}, a.Head, a.Before, c)
}

// TellStrike tells of a strike and the flight that follows. before, which may be
// empty, says how the delivery was before, as FLAG=VALUE,...: the change is split.
func TellStrike(d Delivery, written WrittenHead, before string, c flight.Conditions) (*Account, error) {
	head, err := written.Head()
	if err != nil {
		return nil, err
	}
	r, err := Strike(d, head)
	if err != nil {
		return nil, err
	}
	f, err := flight.Simulate(r.Launch, c)
	if err != nil {
		return nil, fmt.Errorf("flight: %w", err)
	}
	out := Tell(d, r, f, written.Category)
	if before != "" {
		was, err := d.Earlier(before)
		if err != nil {
			return nil, err
		}
		if err := out.TellChange(was, d, head, c); err != nil {
			return nil, fmt.Errorf("before: %w", err)
		}
	}
	return &out, nil
}
