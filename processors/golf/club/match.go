package club

import "fmt"

// HeadFor returns the head mass (kg) that brings c to the wanted swing weight,
// all else kept.
func (c Club) HeadFor(want SwingWeight) (float64, error) {
	h, err := c.Heft()
	if err != nil {
		return 0, err
	}
	mass := c.HeadMass + (want.Moment()-h.Moment)/(c.Length-c.HeadInset-Fulcrum)
	return mass, reachable("head mass", mass, 0.05, 0.8, want.String())
}

// HeadForInertia returns the head mass (kg) that brings c to the wanted
// inertia about the butt (kg·m²), all else kept.
func (c Club) HeadForInertia(want float64) (float64, error) {
	h, err := c.Heft()
	if err != nil {
		return 0, err
	}
	if err := within("wanted inertia", want, 0.02, 1, "kg·m²", "0.27 is usual for an iron"); err != nil {
		return 0, err
	}
	arm := c.Length - c.HeadInset
	mass := c.HeadMass + (want-h.Inertia)/(arm*arm)
	return mass, reachable("head mass", mass, 0.05, 0.8, fmt.Sprintf("%.4f kg·m²", want))
}

// CounterweightFor returns the mass (kg) to put at a place (m from the butt)
// to bring c to the wanted swing weight. Above the fulcrum a mass lowers the
// reading, below it (lead on the head, powder in the tip) it raises it.
func (c Club) CounterweightFor(want SwingWeight, at float64) (float64, error) {
	h, err := c.Heft()
	if err != nil {
		return 0, err
	}
	arm := at - Fulcrum
	if arm > -0.01 && arm < 0.01 {
		return 0, &InputError{Field: "place of the weight", Value: fmt.Sprintf("%.3f m", at),
			Reason: "lies on the fulcrum, where weight does not move the reading", Try: "put it at the butt or the head"}
	}
	mass := (want.Moment() - h.Moment) / arm
	return mass, reachable("added mass", mass, 0, 0.3, want.String())
}

// LengthFor returns the playing length (m) at which c reads the wanted swing
// weight when its shaft is cut for it. The moment is quadratic in length and
// rises with it over all lengths that c could have, so bisection finds it.
func (c Club) LengthFor(want SwingWeight) (float64, error) {
	if _, err := c.Heft(); err != nil {
		return 0, err
	}
	c = c.filled()
	low, high := 0.6, 1.4
	at := func(l float64) float64 { return c.With(Change{Length: l - c.Length}).heft().Moment - want.Moment() }
	if at(low) > 0 || at(high) < 0 {
		return 0, &InputError{Field: "swing weight", Value: want.String(),
			Reason: "is not reached by any length from 0.6 to 1.4 m", Try: "change the head mass instead"}
	}
	for high-low > 1e-7 {
		mid := (low + high) / 2
		if at(mid) < 0 {
			low = mid
		} else {
			high = mid
		}
	}
	return (low + high) / 2, nil
}

func reachable(what string, v, low, high float64, want string) error {
	if v >= low && v <= high {
		return nil
	}
	return &InputError{Field: what, Value: fmt.Sprintf("%.1f g", v*1000),
		Reason: "is what " + want + " would take, and no such part exists", Try: "ask for less, or change length, shaft or grip as well"}
}
