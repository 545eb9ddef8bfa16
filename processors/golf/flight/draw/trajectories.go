package draw

import (
	"fmt"
	"io"
	"math"

	"fairlead/processors/golf/flight"
)

// Trajectory is one shot to draw.
type Trajectory struct {
	Name string
	Path []flight.Point // from flight.Path
}

// namedMost is how many shots get a colour and a name of their own; more are
// drawn alike, as a cloud.
const namedMost = len(hues)

// Trajectories draws shots from the side and from above, over one scale of
// carry. Height and offline have scales of their own. With no shots it draws
// empty axes.
func Trajectories(w io.Writer, shots []Trajectory, u Units) error {
	far, high, wide := 10*u.Length, 5*u.Length, 8*u.Length
	near := 0.0
	for _, s := range shots {
		for _, p := range s.Path {
			far, high, wide, near = max(far, p.X), max(high, p.Z), max(wide, math.Abs(p.Y)), min(near, p.X)
		}
	}
	far, high, wide, near = far*1.04/u.Length, high*1.1/u.Length, wide*1.15/u.Length, near/u.Length

	c := newCanvas(900, 560, "Ball flight", describe(shots, u))
	x := axis{near, far, 70, 880}
	side := axis{0, high, 250, 30}
	top := axis{wide, -wide, 500, 310} // right of the target is down
	c.text(70, 18, "start", "From the side", `font-weight="bold"`)
	c.frame(x, side, ticks(near, far, 9), ticks(0, high, 5), "", "height, "+u.LengthName)
	c.text(70, 302, "start", "From above, right of the target below the line", `font-weight="bold"`)
	c.frame(x, top, ticks(near, far, 9), ticks(-wide, wide, 5), "down range, "+u.LengthName, "offline, "+u.LengthName)
	c.line(x.from, side.at(0), x.to, side.at(0), ground, 2, "")
	c.line(x.from, top.at(0), x.to, top.at(0), ground, 1.5, `stroke-dasharray="6 4"`)

	for i, s := range shots {
		if len(s.Path) == 0 {
			continue
		}
		colour, opacity := hues[0], 0.35
		if len(shots) <= namedMost {
			colour, opacity = hues[i], 1
		}
		for _, view := range [...]struct {
			axis axis
			of   func(flight.Point) float64
		}{
			{side, func(p flight.Point) float64 { return p.Z }},
			{top, func(p flight.Point) float64 { return p.Y }},
		} {
			d := make([]byte, 0, 16*len(s.Path))
			for j, p := range s.Path {
				move := 'L'
				if j == 0 {
					move = 'M'
				}
				d = fmt.Appendf(d, "%c%s %s", move, num(x.at(p.X/u.Length)), num(view.axis.at(view.of(p)/u.Length)))
			}
			c.put(`<path d="%s" fill="none" stroke="%s" stroke-width="1.8" stroke-opacity="%s"/>`, d, colour, num(opacity))
			end := s.Path[len(s.Path)-1]
			c.put(`<circle cx="%s" cy="%s" r="3" fill="%s" fill-opacity="%s"/>`, num(x.at(end.X/u.Length)), num(view.axis.at(view.of(end)/u.Length)), colour, num(opacity))
		}
		if len(shots) <= namedMost && s.Name != "" {
			y := 18 + 16*float64(i%3)
			at := 620 + 140*float64(i/3)
			c.line(at, y-4, at+20, y-4, colour, 3, "")
			c.text(at+26, y, "start", s.Name, "")
		}
	}
	return c.flush(w)
}

// describe says the picture in words.
func describe(shots []Trajectory, u Units) string {
	switch len(shots) {
	case 0:
		return "No shots."
	case 1:
		if len(shots[0].Path) > 0 {
			end := shots[0].Path[len(shots[0].Path)-1]
			return fmt.Sprintf("One shot that carries %.1f %s and lands %.1f %s right of the target line.", end.X/u.Length, u.LengthName, end.Y/u.Length, u.LengthName)
		}
	}
	return fmt.Sprintf("%d shots from the side and from above.", len(shots))
}
