package draw

import (
	"fmt"
	"math"

	"fairlead/ingest/contract/unit"
	"fairlead/processors/golf/flight"
)

// Units says in which units a picture of flights is labelled; the data are SI always.
type Units struct {
	Length     float64 // m per shown unit
	LengthName string
}

// Metric labels lengths in metres, Yards in yards.
var (
	Metric = Units{1, "m"}
	Yards  = Units{unit.Yard, "yd"}
)

// UnitsOf are yards, or metres.
func UnitsOf(yards bool) Units {
	if yards {
		return Yards
	}
	return Metric
}

// Trajectories draws shots from the side and from above, over one scale of
// carry. Height and offline have scales of their own. With no shots it draws
// empty axes.
func Trajectories(shots []flight.Flown, u Units) *Picture {
	far, high, wide := 10*u.Length, 5*u.Length, 8*u.Length
	near := 0.0
	for _, s := range shots {
		for _, p := range s.Path {
			far, high, wide, near = max(far, p.X), max(high, p.Z), max(wide, math.Abs(p.Y)), min(near, p.X)
		}
	}
	far, high, wide, near = far*1.04/u.Length, high*1.1/u.Length, wide*1.15/u.Length, near/u.Length

	p := NewPicture(900, 560, "Ball flight", describe(shots, u))
	x := Axis{near, far, 70, 880}
	side := Axis{0, high, 250, 30}
	top := Axis{wide, -wide, 500, 310} // right of the target is down
	p.Text("head", 70, 18, Start, "From the side")
	p.frame(x, side, Ticks(near, far, 9), Ticks(0, high, 5), "", "height, "+u.LengthName)
	p.Text("head", 70, 302, Start, "From above, right of the target below the line")
	p.frame(x, top, Ticks(near, far, 9), Ticks(-wide, wide, 5), "down range, "+u.LengthName, "offline, "+u.LengthName)
	p.Line("ground", x.From, side.At(0), x.To, side.At(0))
	p.Line("target", x.From, top.At(0), x.To, top.At(0))

	named := len(shots) <= seriesMost // more are drawn alike, as a cloud
	for i, s := range shots {
		if len(s.Path) == 0 {
			continue
		}
		look := "s1 d1 faint"
		if named {
			look = Series(i + 1)
		}
		p.Group(look, s.Name, func() {
			p.flight(s.Path, x, side, u, func(q flight.Point) float64 { return q.Z })
			p.flight(s.Path, x, top, u, func(q flight.Point) float64 { return q.Y })
			if named && s.Name != "" {
				y, at := 18+16*float64(i%3), 620+140*float64(i/3)
				p.Line("line", at, y-4, at+24, y-4)
				p.Text("", at+30, y, Start, s.Name)
			}
		})
	}
	return p
}

// flight draws one view of one flight, and where it ends.
func (p *Picture) flight(path []flight.Point, x, y Axis, u Units, of func(flight.Point) float64) {
	var t Trace
	for _, q := range path {
		t.To(x.At(q.X/u.Length), y.At(of(q)/u.Length))
	}
	p.Path("line", t.Open())
	end := path[len(path)-1]
	p.Circle("solid", x.At(end.X/u.Length), y.At(of(end)/u.Length), 3)
}

// describe says the picture in words.
func describe(shots []flight.Flown, u Units) string {
	switch len(shots) {
	case 0:
		return "No shots."
	case 1:
		if len(shots[0].Path) > 0 {
			end := shots[0].Path[len(shots[0].Path)-1]
			side := "right"
			if end.Y < 0 {
				side = "left"
			}
			return fmt.Sprintf("One shot that carries %.1f %s and lands %.1f %s %s of the target line.",
				end.X/u.Length, u.LengthName, math.Abs(end.Y)/u.Length, u.LengthName, side)
		}
	}
	return fmt.Sprintf("%d shots from the side and from above.", len(shots))
}
