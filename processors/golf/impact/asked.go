package impact

import (
	"fmt"

	"fairlead/processors/golf/flight"
)

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
