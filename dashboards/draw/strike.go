package draw

import (
	"fmt"
	"math"

	"fairlead/processors/golf/dispersion"
)

// Strike shows where on the face the shots were struck, the face seen from the
// ball, its geometric centre in the middle, toe to the right. The outline is a
// help for the eye, not this club's. nil where no strike was measured.
func (s *Session) Strike() *Picture {
	halfX, halfY := 0.050, 0.028
	if s.state.Session != nil {
		switch s.state.Session.Category {
		case "iron", "wedge":
			halfX, halfY = 0.040, 0.030
		case "putter":
			halfX, halfY = 0.055, 0.016
		}
	}
	type struck struct {
		*run
		points []dispersion.Strike
	}
	var all []struck
	reachX, reachY := halfX, halfY
	for _, r := range s.runs {
		one := struck{run: r}
		for _, shot := range r.shots {
			px, ok1 := shot.Values["strike_x_m"]
			py, ok2 := shot.Values["strike_y_m"]
			if ok1 && ok2 && shot.Status == "counts" {
				one.points = append(one.points, dispersion.Strike{X: px, Y: py})
				reachX, reachY = max(reachX, math.Abs(px)), max(reachY, math.Abs(py))
			}
		}
		if len(one.points) > 0 {
			all = append(all, one)
		}
	}
	if len(all) == 0 {
		return nil
	}
	p := NewPicture(pageWidth, 0, "Strike on the face, toe to the right, up is up", "")
	x := Axis{-reachX * 1.08, reachX * 1.08, 12, pageWidth - 12}
	tall := 2 * reachY * 1.1 * x.Per()
	y := Axis{-reachY * 1.1, reachY * 1.1, 12 + tall, 12}
	p.add(`<rect class="outline" x="%s" y="%s" width="%s" height="%s" rx="%s"/>`, num(x.At(-halfX)), num(y.At(halfY)), num(2*halfX*x.Per()), num(2*halfY*x.Per()), num(halfY*x.Per()*0.7))
	p.Line("grid", x.At(-halfX), y.At(0), x.At(halfX), y.At(0))
	p.Line("grid", x.At(0), y.At(-halfY), x.At(0), y.At(halfY))
	p.Text("tick", x.At(-halfX)+8, y.At(0)-6, Start, "heel")
	p.Text("tick", x.At(halfX)-8, y.At(0)-6, End, "toe")
	var taken [][2]float64
	for _, c := range all {
		look := Series(c.number)
		if c.filled {
			look += " running"
		}
		p.Group(look, "", func() {
			for _, q := range c.points {
				p.Path("shot", Shape(c.number, x.At(q.X), y.At(q.Y), 5))
			}
		})
	}
	down := y.From + 4
	u := s.units.Small()
	for _, c := range all {
		mx, my := 0.0, 0.0
		for _, q := range c.points {
			mx, my = mx+q.X/float64(len(c.points)), my+q.Y/float64(len(c.points))
		}
		if c.label != "" && len(all) > 1 {
			p.label(&taken, Series(c.number), c.label, x.At(mx), y.At(my), x, y)
		}
		down += 19
		p.legendRow(c.number, c.label, c.name, fmt.Sprintf("%s, %s",
			toward(u.Short(math.Abs(mx)), u.With(u.Short(math.Abs(mx))), mx, "toe", "heel"),
			toward(u.Short(math.Abs(my)), u.With(u.Short(math.Abs(my))), my, "high", "low")), c.filled, down)
	}
	p.height = down + 12
	return p
}

// toward says a distance with its side, 'centred' where it is none.
func toward(number, text string, v float64, plus, minus string) string {
	switch {
	case number == "0":
		return "centred"
	case v < 0:
		return text + " " + minus
	}
	return text + " " + plus
}
