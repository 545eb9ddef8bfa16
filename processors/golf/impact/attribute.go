package impact

import "fairlead/processors/golf/flight"

// Swing is a delivery with the head that made it.
type Swing struct {
	Delivery Delivery
	Head     Head
}

// Effect is a change of what the ball does.
type Effect struct {
	BallSpeed float64 // m/s
	Launch    float64 // deg
	Direction float64 // deg, positive right
	Spin      float64 // rpm
	Axis      float64 // deg, positive right
	Carry     float64 // m
	Offline   float64 // m, positive right
}

func (e Effect) plus(o Effect, f float64) Effect {
	return Effect{
		e.BallSpeed + f*o.BallSpeed, e.Launch + f*o.Launch, e.Direction + f*o.Direction, e.Spin + f*o.Spin,
		e.Axis + f*o.Axis, e.Carry + f*o.Carry, e.Offline + f*o.Offline,
	}
}

// Part is what one factor contributes to a change.
type Part struct {
	Factor string
	Effect Effect
}

// factors are what a change of launch is split into, in the order reported.
var factors = [...]struct {
	name string
	move func(to *Swing, from *Swing)
}{
	{"clubhead speed", func(to, from *Swing) { to.Delivery.HeadSpeed = from.Delivery.HeadSpeed }},
	{"attack", func(to, from *Swing) { to.Delivery.Attack = from.Delivery.Attack }},
	{"dynamic loft", func(to, from *Swing) { to.Delivery.DynamicLoft = from.Delivery.DynamicLoft }},
	{"face and path", func(to, from *Swing) {
		to.Delivery.Face, to.Delivery.Path = from.Delivery.Face, from.Delivery.Path
	}},
	{"strike", func(to, from *Swing) {
		to.Delivery.StrikeX, to.Delivery.StrikeY = from.Delivery.StrikeX, from.Delivery.StrikeY
	}},
	{"head", func(to, from *Swing) { to.Head = from.Head }},
}

// Attribute splits the change of the ball from one swing to another into what
// clubhead speed, attack, dynamic loft, face with path, strike and head each
// contribute. Factors act together (spin depends on speed times loft), so the
// share of one depends on what has already changed: each part is its mean over
// all orders in which the factors could change (Shapley 1953). The parts add
// up to the whole exactly. Both swings must be of the same hand.
//
// The carry is by the flight model under c. Errors are those of Strike and
// flight.Simulate.
func Attribute(before, after Swing, c flight.Conditions) (whole Effect, parts []Part, err error) {
	if before.Delivery.LeftHanded != after.Delivery.LeftHanded {
		return Effect{}, nil, &flight.InputError{Field: "hand of the second swing", Value: 0, Want: "two swings of the same hand"}
	}
	const n = len(factors)
	var worth [1 << n]Effect
	for set := range worth {
		s := before
		for i, f := range factors {
			if set&(1<<i) != 0 {
				f.move(&s, &after)
			}
		}
		if worth[set], err = effectOf(s, c); err != nil {
			return Effect{}, nil, err
		}
	}
	// The weight of a set of size k in a mean over orders is k!(n-1-k)!/n!.
	var weight [n]float64
	for k := range weight {
		weight[k] = factorial(k) * factorial(n-1-k) / factorial(n)
	}
	for i, f := range factors {
		var e Effect
		for set := range worth {
			if set&(1<<i) == 0 {
				w := weight[size(set)]
				e = e.plus(worth[set|1<<i], w).plus(worth[set], -w)
			}
		}
		parts = append(parts, Part{f.name, e})
	}
	return worth[1<<n-1].plus(worth[0], -1), parts, nil
}

func effectOf(s Swing, c flight.Conditions) (Effect, error) {
	r, err := Strike(s.Delivery, s.Head)
	if err != nil {
		return Effect{}, err
	}
	f, err := flight.Simulate(r.Launch, c)
	if err != nil {
		return Effect{}, err
	}
	l := r.Launch
	return Effect{l.BallSpeed, l.Angle, l.Direction, l.SpinRate, l.SpinAxis, f.Carry, f.Offline}, nil
}

func factorial(n int) float64 {
	f := 1.0
	for i := 2; i <= n; i++ {
		f *= float64(i)
	}
	return f
}

func size(set int) (n int) {
	for ; set != 0; set &= set - 1 {
		n++
	}
	return n
}
