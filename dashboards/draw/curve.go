package draw

import (
	"math"

	"fairlead/dashboards/figure"
)

// Curve shows start line and curvature from above: each shot's curve from where
// it set off to where it landed, pale, and that of each trial's means. The curve
// between is drawn, not measured. For putts it is the start line alone. Sideways
// is drawn larger than along, as the axes say.
func (s *Session) Curve() *Picture {
	type bend struct{ start, offline, carry float64 }
	type lines struct {
		*run
		shots []bend
		mean  bend
	}
	var all []lines
	far, wide := 0.0, 0.0
	for _, r := range s.runs {
		l := lines{run: r}
		for _, shot := range r.shots {
			start, ok := shot.Values["launch_direction_deg"]
			carry, ok2 := shot.Values["carry_m"]
			offline, ok3 := shot.Values["offline_m"]
			if s.putts {
				carry, ok2, ok3 = 3, true, true // as far as a usual putt: nothing is known of where it ends
				offline = carry * math.Tan(start*math.Pi/180)
			}
			if ok && ok2 && ok3 && shot.Status == "counts" && math.Abs(start) < 80 {
				l.shots = append(l.shots, bend{start, offline, carry})
			}
		}
		if len(l.shots) == 0 {
			continue
		}
		n := float64(len(l.shots))
		for _, b := range l.shots {
			l.mean.start, l.mean.offline, l.mean.carry = l.mean.start+b.start/n, l.mean.offline+b.offline/n, l.mean.carry+b.carry/n
			middle := b.carry / 2 * math.Tan(b.start*math.Pi/180)
			far, wide = max(far, b.carry), max(wide, math.Abs(b.offline), math.Abs(middle)*0.7)
		}
		all = append(all, l)
	}
	if len(all) == 0 {
		return nil
	}
	across, along := s.units.Distance(), s.units.Distance()
	if s.putts {
		across = s.units.Pick(figure.In("cm", 100, 0), figure.In("in", 1/0.0254, 0))
	}
	far, wide = far*1.06*along.Factor, wide*1.15*across.Factor
	const height = 300.0
	title := "Start line and curve, seen from above"
	if s.putts { // a putt that curves does so by the green
		title = "Start line, seen from above"
	}
	p := NewPicture(pageWidth, 0, title, "")
	x, y := Axis{-wide, wide, 46, pageWidth - 12}, Axis{0, far, height, 12}
	for _, v := range Ticks(-wide, wide, 6) {
		look := "grid"
		if v == 0 {
			look = "target"
		}
		p.Line(look, x.At(v), y.From, x.At(v), y.To)
		p.Text("tick", x.At(v), y.From+16, Middle, sideLabel(v, across))
	}
	if !s.putts {
		for i, v := range Ticks(0, far, 6) {
			text := Label(v)
			if i == 1 {
				text += " " + along.Name
			}
			p.Line("grid", x.From, y.At(v), x.To, y.At(v))
			p.Text("tick", x.From-4, y.At(v)+4, End, text)
		}
	}
	draw := func(b bend, look string) {
		// A curve with the start line as its tangent at the ball: its handle lies on
		// that line, half way.
		hx := b.carry / 2 * math.Tan(b.start*math.Pi/180) * across.Factor
		p.add(`<path class="%s" d="M%s %sQ%s %s %s %s"/>`, look, num(x.At(0)), num(y.At(0)), num(x.At(hx)), num(y.At(b.carry/2*along.Factor)),
			num(x.At(b.offline*across.Factor)), num(y.At(b.carry*along.Factor)))
	}
	p.Clip("curve-plot", x.From, y.To, x.To-x.From, y.From-y.To, func() {
		for _, l := range all {
			p.Group(Series(l.number)+" faint", "", func() {
				for _, b := range l.shots {
					draw(b, "line")
				}
			})
		}
		for _, l := range all {
			p.Group(Series(l.number), "", func() { draw(l.mean, "line") })
		}
	})
	var taken [][2]float64
	down := height + 22
	angle := figure.In("°", 1, 1)
	for _, l := range all {
		if l.label != "" {
			p.label(&taken, Series(l.number), l.label, x.At(l.mean.offline*across.Factor), y.At(l.mean.carry*along.Factor), x, y)
		}
		down += 19
		more := "starts " + sided(angle, l.mean.start)
		if !s.putts {
			landing := math.Atan2(l.mean.offline, l.mean.carry) * 180 / math.Pi
			more += ", " + bent(angle, landing-l.mean.start)
		}
		p.legendRow(l.number, l.label, l.name, more, l.filled, down)
	}
	p.height = down + 12
	return p
}

// bent says how far a flight curved away from its start line.
func bent(u figure.Unit, x float64) string {
	text := u.Short(math.Abs(x))
	switch {
	case text == "0":
		return "straight"
	case x < 0:
		return "curves " + u.With(text) + " left"
	}
	return "curves " + u.With(text) + " right"
}
