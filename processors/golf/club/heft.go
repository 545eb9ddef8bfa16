package club

import "math"

// Club is what the heft of a club depends on: masses and where they sit. A
// field left zero takes the stated default.
type Club struct {
	Length   float64 // m, playing length from butt to sole
	HeadMass float64 // kg
	// HeadInset is how far the head's centre of mass lies above the sole,
	// along the shaft, in m. Zero is the trade's own convention, on which its
	// grams a point (49.6/(L−14)) rest.
	HeadInset   float64
	HeadInertia float64 // kg·m², the head about its own centre, across the swing plane; zero: a point mass

	ShaftMass    float64 // kg, as cut
	ShaftLength  float64 // m, as cut; default the playing length less one inch
	ShaftBalance float64 // balance point from the butt end, as a share of the shaft's length; default 0.5

	GripMass   float64 // kg
	GripCentre float64 // m from the butt to the grip's centre of mass; default 4 in

	Extra []Weight // counterweights, ferrule, lead, plugs
}

// Weight is a small mass at a place on the club.
type Weight struct {
	Mass float64 // kg
	At   float64 // m from the butt
}

// Heft is how a club feels to lift and to swing.
type Heft struct {
	Mass        float64     // kg, the whole club
	Balance     float64     // m from the butt
	Moment      float64     // kg·m about the 14-inch fulcrum
	SwingWeight SwingWeight // the same moment as the trade reads it
	Inertia     float64     // kg·m², about the butt, across the shaft
}

// filled returns c with defaults in place of zeros.
func (c Club) filled() Club {
	if c.ShaftLength == 0 {
		c.ShaftLength = c.Length - Inch
	}
	if c.ShaftBalance == 0 {
		c.ShaftBalance = 0.5
	}
	if c.GripCentre == 0 {
		c.GripCentre = 4 * Inch
	}
	return c
}

func (c Club) check() error {
	errs := []error{
		within("club length", c.Length, 0.5, 1.5, "m", "give the playing length, such as 37in"),
		within("head mass", c.HeadMass, 0.05, 0.8, "kg", "give the head alone, such as 200g for a driver or 270g for a 7-iron"),
		within("head inset", c.HeadInset, 0, 0.1, "m", "leave it out to put the head's mass at the playing length"),
		within("head inertia", c.HeadInertia, 0, 0.01, "kg·m²", "5000 g·cm² is 0.0005"),
		within("shaft mass", c.ShaftMass, 0.01, 0.25, "kg", "give the shaft as cut, such as 65g or 115g"),
		within("shaft length", c.ShaftLength, 0.3, 1.5, "m", "give the shaft as cut, or leave it out"),
		within("shaft balance", c.ShaftBalance, 0.2, 0.8, "of its length", "give the share from the butt end, 0.5 is the middle"),
		within("grip mass", c.GripMass, 0, 0.3, "kg", "give the grip with its tape, such as 50g"),
		within("grip centre", c.GripCentre, 0, 0.35, "m", "4in from the butt is usual"),
	}
	for _, w := range c.Extra {
		errs = append(errs,
			within("extra weight", w.Mass, 0, 0.3, "kg", "give a small mass such as 8g"),
			within("place of the extra weight", w.At, -0.05, 1.5, "m", "measure from the butt end"))
	}
	if c.ShaftLength > c.Length {
		errs = append(errs, &InputError{Field: "shaft length", Value: "", Reason: "is longer than the club",
			Try: "give the shaft as cut, or leave it out"})
	}
	return firstError(errs...)
}

// parts lists the masses of the club, each as a point at its centre.
func (c Club) parts() []Weight {
	return append([]Weight{
		{c.HeadMass, c.Length - c.HeadInset},
		{c.ShaftMass, c.ShaftBalance * c.ShaftLength},
		{c.GripMass, c.GripCentre},
	}, c.Extra...)
}

// Heft adds up the club: moments for balance and swing weight, squares for
// the inertia about the butt, to which the shaft adds ml²/12 of its own as a
// rod and the head its HeadInertia. The grip counts as a point: its own
// inertia is under a thousandth of the club's.
func (c Club) Heft() (Heft, error) {
	c = c.filled()
	if err := c.check(); err != nil {
		return Heft{}, err
	}
	return c.heft(), nil
}

// heft is Heft for a club that is filled and checked.
func (c Club) heft() Heft {
	var h Heft
	var first float64
	for _, p := range c.parts() {
		h.Mass += p.Mass
		first += p.Mass * p.At
		h.Inertia += p.Mass * p.At * p.At
	}
	h.Inertia += c.ShaftMass*c.ShaftLength*c.ShaftLength/12 + c.HeadInertia
	h.Balance = first / h.Mass
	h.Moment = first - h.Mass*Fulcrum
	h.SwingWeight = SwingWeightOf(h.Moment)
	return h
}

// Change is what the shop does to a club; zero fields leave the part alone.
type Change struct {
	Head, Shaft, Grip float64 // kg added (negative: removed)
	// Length is added to the playing length (m) by cutting the shaft longer or
	// shorter: the shaft keeps its mass a metre.
	Length float64
	Extra  []Weight
}

// With returns the club after the change. Length first: a shaft's added grams
// are meant for the shaft as cut.
func (c Club) With(ch Change) Club {
	c = c.filled()
	if ch.Length != 0 {
		c.ShaftMass *= (c.ShaftLength + ch.Length) / c.ShaftLength
		c.ShaftLength += ch.Length
		c.Length += ch.Length
	}
	c.HeadMass += ch.Head
	c.ShaftMass += ch.Shaft
	c.GripMass += ch.Grip
	c.Extra = append(append([]Weight(nil), c.Extra...), ch.Extra...)
	return c
}

// Effect is a change of the club in numbers.
type Effect struct {
	Before, After Heft
	Points        float64 // swing weight, after less before
	InertiaPct    float64 // inertia about the butt, percent
}

// Effect computes what the change does to c.
func (c Club) Effect(ch Change) (Effect, error) {
	before, err := c.Heft()
	if err != nil {
		return Effect{}, err
	}
	after, err := c.With(ch).Heft()
	if err != nil {
		return Effect{}, err
	}
	return Effect{before, after, float64(after.SwingWeight - before.SwingWeight), 100 * (after.Inertia/before.Inertia - 1)}, nil
}

// Steps is how much of each part moves this club up by one swing weight point.
// Grip is negative where the grip lies above the fulcrum, as it does.
type Steps struct {
	Head, Shaft, Grip float64 // kg
	Length            float64 // m
}

// PerPoint computes the steps from the club itself. The trade's rules (2 g of
// head, 9 g of shaft, 5 g of grip, a sixth of an inch) are these numbers for
// a middling club; a driver and a wedge differ from them by a third. A part
// that sits on the fulcrum cannot move the reading and gets 0.
func (c Club) PerPoint() (Steps, error) {
	c = c.filled()
	if err := c.check(); err != nil {
		return Steps{}, err
	}
	step := func(arm float64) float64 {
		if math.Abs(arm) < 1e-3 {
			return 0
		}
		return Point / arm
	}
	density := c.ShaftMass / c.ShaftLength
	// d(moment)/d(length): the head moves, the shaft grows and its centre moves.
	slope := c.HeadMass + density*(2*c.ShaftBalance*c.ShaftLength-Fulcrum)
	return Steps{
		Head:   step(c.Length - c.HeadInset - Fulcrum),
		Shaft:  step(c.ShaftBalance*c.ShaftLength - Fulcrum),
		Grip:   step(c.GripCentre - Fulcrum),
		Length: Point / slope,
	}, nil
}
