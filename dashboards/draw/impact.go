package draw

import (
	"math"

	"fairlead/dashboards/figure"
)

// enlarged is how many times an angle at impact is drawn: a path of two degrees
// would look like none.
const enlarged = 4

// Impact shows path and face at impact from above, one panel a trial: the target
// line dashed, the way of the clubhead as an arrow, the face as a bar with the
// line that it looks along. nil where neither was measured.
func (s *Session) Impact() *Picture {
	type hit struct {
		*run
		path, face       float64
		hasPath, hasFace bool
	}
	var all []hit
	for _, r := range s.runs {
		h := hit{run: r}
		h.path, h.hasPath = r.mean("club_path_deg")
		h.face, h.hasFace = r.mean("face_angle_deg")
		if h.hasPath || h.hasFace {
			all = append(all, h)
		}
	}
	if len(all) == 0 {
		return nil
	}
	const columns, panel, tall = 3, (pageWidth - 24) / 3, 172.0
	p := NewPicture(pageWidth, 0, "Path and face at impact, seen from above", "")
	angle := figure.In("°", 1, 1)
	for i, h := range all {
		cx, top := 12+panel*(float64(i%columns)+0.5), 6+tall*float64(i/columns)
		cy := top + 64
		p.Line("target", cx, top+4, cx, top+118)
		p.Group(Series(h.number), "", func() {
			if h.hasPath {
				sin, cos := math.Sincos(max(min(h.path*enlarged, 75), -75) * math.Pi / 180)
				p.add(`<path class="line" d="M%s %sL%s %s"/>`, num(cx-50*sin), num(cy+50*cos), num(cx+46*sin), num(cy-46*cos))
				tx, ty := cx+52*sin, cy-52*cos
				p.add(`<path class="solid" d="M%s %sL%s %sL%s %sZ"/>`, num(tx), num(ty), num(tx-11*sin-5*cos), num(ty+11*cos-5*sin), num(tx-11*sin+5*cos), num(ty+11*cos+5*sin))
			}
			if h.hasFace {
				sin, cos := math.Sincos(max(min(h.face*enlarged, 75), -75) * math.Pi / 180)
				p.add(`<path class="thick" d="M%s %sL%s %s"/>`, num(cx-22*cos), num(cy-22*sin), num(cx+22*cos), num(cy+22*sin))
			}
			p.Path("sign", Shape(h.number, cx-panel/2+12, top+128, 5))
		})
		p.Circle("sign", cx, cy-6, 4)
		name := h.name
		if h.label != "" {
			name = h.label + " · " + name
		}
		p.Text("", cx-panel/2+22, top+132, Start, kept(name, 17))
		if h.hasPath {
			p.Text("soft", cx-panel/2+6, top+148, Start, "path "+sided(angle, h.path))
		}
		if h.hasFace {
			p.Text("soft", cx-panel/2+6, top+164, Start, "face "+sided(angle, h.face))
		}
	}
	down := 6 + tall*math.Ceil(float64(len(all))/columns)
	p.Text("soft", 12, down+14, Start, "arrow: path · bar: face · angles drawn four times as large")
	p.height = down + 24
	return p
}
