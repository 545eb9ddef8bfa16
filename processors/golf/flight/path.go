package flight

// Point is one point of a drawn trajectory.
type Point struct {
	T float64 // s since the start
	X float64 // m down range along the target line
	Y float64 // m beside it, positive right
	Z float64 // m above the start
}

// Path returns n points of the flight, evenly spaced in time, from the start
// to the landing, both included. n must be 2 to 100,000; errors are those of
// Simulate.
func Path(l Launch, c Conditions, n int) ([]Point, error) {
	if n < 2 || n > 100_000 {
		return nil, &InputError{"number of path points", float64(n), "", "2 to 100000"}
	}
	r, err := Simulate(l, c)
	if err != nil {
		return nil, err
	}
	points := make([]Point, 1, n)
	if r.Flags&NoFlight != 0 {
		for len(points) < n {
			points = append(points, Point{})
		}
		return points, nil
	}
	windX, windY := c.Wind.vector()
	step := r.HangTime / float64(n-1)
	var p stepper
	p.start(&l, &c)
	if _, err := p.fly(&l, &c, func(g segment, u float64) {
		end := g.from.t + u*(g.to.t-g.from.t)
		for len(points) < n-1 && float64(len(points))*step <= end {
			t := float64(len(points)) * step
			s := g.at((t - g.from.t) / (g.to.t - g.from.t))
			points = append(points, Point{T: t, X: s.x + windX*t, Y: s.y + windY*t, Z: s.z})
		}
	}); err != nil {
		return nil, err
	}
	return append(points, Point{T: r.HangTime, X: r.Carry, Y: r.Offline, Z: c.LandingHeight}), nil
}
