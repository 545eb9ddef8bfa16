package draw

import (
	"fmt"

	"fairlead/dashboards/figure"
	"fairlead/processors/golf/flight"
)

// Side shows the flights from the side, height as large as distance: the flight
// of each trial's mean launch in standard air, by the flight model, with its
// launch angle, its top and its landing angle. nil for putts and where speed,
// launch or spin are not measured.
func (s *Session) Side() *Picture {
	if s.putts {
		return nil
	}
	type drawn struct {
		*run
		launch flight.Launch
		path   []flight.Point
		end    flight.Result
	}
	var all []drawn
	far, high := 0.0, 0.0
	for _, r := range s.runs {
		speed, ok1 := r.mean("ball_speed_mps")
		launch, ok2 := r.mean("launch_angle_deg")
		spin, ok3 := r.mean("spin_rate_rpm")
		if !ok1 || !ok2 || !ok3 {
			continue
		}
		l := flight.Launch{BallSpeed: speed, Angle: launch, SpinRate: spin}
		l.SpinAxis, _ = r.mean("spin_axis_deg")
		path, err := flight.Path(l, flight.Standard(), 40)
		if err != nil {
			continue // no flight: a mean of nonsense is in the list of shots, and draws nothing
		}
		end, err := flight.Simulate(l, flight.Standard())
		if err != nil {
			continue
		}
		for _, q := range path {
			far, high = max(far, q.X), max(high, q.Z)
		}
		all = append(all, drawn{r, l, path, end})
	}
	if len(all) == 0 {
		return nil
	}
	u := s.units.Distance()
	far, high = far*1.04*u.Factor, high*1.12*u.Factor
	p := NewPicture(pageWidth, 0, "Flight from the side", "")
	x := Axis{0, far, 46, pageWidth - 18}
	y := Axis{0, high, 12 + max(min(high*x.Per(), 240), 60), 12}
	for i, v := range Ticks(0, far, 6) {
		text := Label(v)
		if i == 1 {
			text += " " + u.Name
		}
		p.Line("grid", x.At(v), y.From, x.At(v), y.To)
		p.Text("tick", x.At(v), y.From+16, Middle, text)
	}
	for _, v := range Ticks(0, high, 3) {
		p.Line("grid", x.From, y.At(v), x.To, y.At(v))
		p.Text("tick", x.From-4, y.At(v)+4, End, Label(v))
	}
	p.Line("ground", x.From, y.At(0), x.To, y.At(0))
	var taken [][2]float64
	down := y.From + 22
	angle := figure.In("°", 1, 1)
	round := u
	round.Digits = 0
	for _, f := range all {
		top := f.path[0]
		var t Trace
		for _, q := range f.path {
			t.To(x.At(q.X*u.Factor), y.At(q.Z*u.Factor))
			if q.Z > top.Z {
				top = q
			}
		}
		p.Group(Series(f.number), "", func() { p.Path("line", t.Open()) })
		if f.label != "" {
			p.label(&taken, Series(f.number), f.label, x.At(top.X*u.Factor), y.At(top.Z*u.Factor), x, y)
		}
		down += 19
		p.legendRow(f.number, f.label, f.name, fmt.Sprintf("%s up, top %s, lands %s", angle.Text(f.launch.Angle), round.Text(f.end.Apex),
			angle.Text(f.end.LandingAngle)), f.filled, down)
	}
	p.Text("soft", 12, down+18, Start, "computed from each mean launch, in standard air")
	p.height = down + 30
	return p
}
