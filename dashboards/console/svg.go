package console

import (
	"fmt"
	"html/template"
	"math"
	"strings"

	"fairlead/dashboards/figure"
	"fairlead/processors/visit/rolling"
)

// shapes tell trials apart, beside their numbers: each a path within a radius
// of one about the origin.
var shapes = []string{
	"M1,0A1,1 0 1 1 -1,0A1,1 0 1 1 1,0Z",                   // disc
	"M-.85,-.85H.85V.85H-.85Z",                             // square
	"M0,-1.1L1,.75H-1Z",                                    // triangle
	"M0,-1.2L1.05,0L0,1.2L-1.05,0Z",                        // lozenge
	"M-1,-.75H1L0,1.1Z",                                    // triangle, down
	"M-.35,-1H.35V-.35H1V.35H.35V1H-.35V.35H-1V-.35H-.35Z", // plus
	"M-.5,-1H.5L1,-.3V.5L.4,1H-.4L-1,.5V-.3Z",              // shield
	"M0,-1.1L.32,-.35L1.1,-.3L.5,.25L.7,1L0,.55L-.7,1L-.5,.25L-1.1,-.3L-.32,-.35Z", // star
	"M-1,-1L0,-.45L1,-1L.45,0L1,1L0,.45L-1,1L-.45,0Z",                              // cross
}

func shapeOf(number int) string { return shapes[(max(number, 1)-1)%len(shapes)] }

// marker is a trial's sign in text.
func marker(number int) template.HTML {
	return template.HTML(fmt.Sprintf(`<svg class="mark" viewBox="-1.5 -1.5 3 3" aria-hidden="true"><path d="%s"/></svg>`, shapeOf(number)))
}

// canvas maps points to a picture of a fixed width; y grows upward.
type canvas struct {
	strings.Builder
	x0, y0, sx, sy float64 // left and top edge in data units, pixels a unit
	w, h           float64
}

func (c *canvas) at(x, y float64) (px, py float64) { return (x - c.x0) * c.sx, (c.y0 - y) * c.sy }

func (c *canvas) line(class string, x1, y1, x2, y2 float64) {
	a, b := c.at(x1, y1)
	d, e := c.at(x2, y2)
	fmt.Fprintf(c, `<line class="%s" x1="%.1f" y1="%.1f" x2="%.1f" y2="%.1f"/>`, class, a, b, d, e)
}

func (c *canvas) mark(class, shape string, x, y, r float64, title string) {
	px, py := c.at(x, y)
	fmt.Fprintf(c, `<path class="%s" transform="translate(%.1f %.1f) scale(%.1f)" d="%s"><title>%s</title></path>`, class, px, py, r, shape, template.HTMLEscapeString(title))
}

func (c *canvas) text(class string, px, py float64, anchor, text string) {
	fmt.Fprintf(c, `<text class="%s" x="%.1f" y="%.1f" text-anchor="%s">%s</text>`, class, px, py, anchor, template.HTMLEscapeString(text))
}

// ellipse draws a region of points (first axis up, second to the right).
func (c *canvas) ellipse(class string, e *rolling.Ellipse) {
	var d strings.Builder
	sin, cos := math.Sincos(e.TiltDeg * math.Pi / 180)
	for i := range 48 {
		s, k := math.Sincos(2 * math.Pi * float64(i) / 48)
		a, b := e.Major*k, e.Minor*s
		px, py := c.at(e.Centre[1]+a*sin+b*cos, e.Centre[0]+a*cos-b*sin)
		fmt.Fprintf(&d, "%c%.1f,%.1f", "ML"[min(i, 1)], px, py)
	}
	fmt.Fprintf(c, `<path class="%s" d="%sZ"/>`, class, d.String())
}

// bounds is the box of points.
type bounds struct {
	x1, x2, y1, y2 float64
	n              int
}

func (b *bounds) add(x, y float64) {
	if b.n == 0 {
		b.x1, b.x2, b.y1, b.y2 = x, x, y, y
	}
	b.n++
	b.x1, b.x2, b.y1, b.y2 = min(b.x1, x), max(b.x2, x), min(b.y1, y), max(b.y2, y)
}

type plotted struct {
	x, y  float64
	shot  *rolling.ShotRow
	trial *rolling.Trial
}

// plot draws where the shots of the session landed, seen from above: carry
// upward, offline to the right, one scale for both. For putts it is ball speed
// over start line, which have no scale in common.
func (s *server) plot(state *rolling.State) template.HTML {
	putts := state.Session != nil && state.Session.Category == "putter"
	xu, yu, xc, yc := s.units.Distance(), s.units.Distance(), "offline_m", "carry_m"
	if putts {
		xu, yu, xc, yc = s.units.of("launch_direction_deg"), s.units.Speed(), "launch_direction_deg", "ball_speed_mps"
	}
	trials := map[string]*rolling.Trial{}
	for i := range state.Trials {
		trials[state.Trials[i].Key] = &state.Trials[i]
	}
	var points []plotted
	var box bounds
	for i := range state.Shots {
		shot := &state.Shots[i]
		x, ok1 := shot.Values[xc]
		y, ok2 := shot.Values[yc]
		t := trials[shot.Row]
		if !ok1 || !ok2 || t == nil || shot.Status != "counts" && shot.Status != "excluded" {
			continue
		}
		p := plotted{x * xu.Factor, y * yu.Factor, shot, t}
		points = append(points, p)
		box.add(p.x, p.y)
	}
	if len(points) == 0 {
		return ""
	}
	box.add(0, box.y1) // the target line is always in the picture
	c := newCanvas(box, !putts)
	c.grid(xu, yu, putts)
	for i := range state.Trials {
		if t := &state.Trials[i]; t.Running && t.NextShot != nil && !putts {
			e := *t.NextShot
			e.Centre[0], e.Centre[1], e.Major, e.Minor = e.Centre[0]*yu.Factor, e.Centre[1]*xu.Factor, e.Major*yu.Factor, e.Minor*yu.Factor
			c.ellipse("next", &e)
		}
	}
	for i, p := range points {
		class := "shot"
		if p.trial.Running {
			class += " running"
		}
		if p.shot.Status != "counts" {
			class += " out"
		}
		if i == len(points)-1 {
			class += " latest"
		}
		c.mark(class, shapeOf(p.trial.Number), p.x, p.y, 6, fmt.Sprintf("Shot %d, trial %d: %s, %s", p.shot.Number, p.trial.Number, yu.With(yu.Number(p.y/yu.Factor)), sided(xu, p.x/xu.Factor)))
	}
	c.means(state, xc, yc, xu, yu)
	return c.svg("plot", "Shots of the session from above, one shape a trial")
}

// means marks the middle of each trial with its number.
func (c *canvas) means(state *rolling.State, xc, yc string, xu, yu figure.Unit) {
	sums := map[int][3]float64{}
	var order []int
	running := map[int]bool{}
	byRow := map[string]*rolling.Trial{}
	for i := range state.Trials {
		byRow[state.Trials[i].Key] = &state.Trials[i]
		running[state.Trials[i].Number] = running[state.Trials[i].Number] || state.Trials[i].Running
	}
	for _, shot := range state.Shots {
		x, ok1 := shot.Values[xc]
		y, ok2 := shot.Values[yc]
		t := byRow[shot.Row]
		if !ok1 || !ok2 || t == nil || shot.Status != "counts" {
			continue
		}
		sum, known := sums[t.Number]
		if !known {
			order = append(order, t.Number)
		}
		sums[t.Number] = [3]float64{sum[0] + x*xu.Factor, sum[1] + y*yu.Factor, sum[2] + 1}
	}
	var taken [][2]float64
	for _, n := range order {
		sum := sums[n]
		px, py := c.at(sum[0]/sum[2], sum[1]/sum[2])
		lx, ly := px, py
		for range 12 { // labels step aside, and stay tied to their middle by a line
			clash := false
			for _, o := range taken {
				if math.Hypot(o[0]-lx, o[1]-ly) < 24 {
					clash = true
				}
			}
			if !clash {
				break
			}
			lx += 25
			if lx > c.w-16 {
				lx, ly = px, ly-25
			}
		}
		taken = append(taken, [2]float64{lx, ly})
		class := "mean"
		if running[n] {
			class += " running"
		}
		fmt.Fprintf(c, `<g class="%s"><line x1="%.1f" y1="%.1f" x2="%.1f" y2="%.1f"/><circle cx="%.1f" cy="%.1f" r="11"/><text x="%.1f" y="%.1f" text-anchor="middle">%d</text></g>`,
			class, px, py, lx, ly, lx, ly, lx, ly+4.5, n)
	}
}

// newCanvas fits a box into a picture; square keeps one scale for both axes.
func newCanvas(b bounds, square bool) *canvas {
	c := &canvas{w: 560}
	spanX, spanY := max(b.x2-b.x1, 1e-6), max(b.y2-b.y1, 1e-6)
	if square {
		spanX, spanY = max(spanX, 10, spanY/1.15), max(spanY, 8, spanX/3)
	} else {
		spanX, spanY = max(spanX, 1), max(spanY, 0.2)
	}
	spanX, spanY = spanX*1.2, spanY*1.2
	mx, my := (b.x1+b.x2)/2, (b.y1+b.y2)/2
	c.x0, c.y0 = mx-spanX/2, my+spanY/2
	c.sx = c.w / spanX
	c.sy = c.sx
	if !square {
		c.sy = 380 / spanY
	}
	c.h = spanY * c.sy
	return c
}

// grid draws the lines of both axes with their numbers, and the target line.
func (c *canvas) grid(xu, yu figure.Unit, putts bool) {
	spanX, spanY := c.w/c.sx, c.h/c.sy
	stepX, stepY := figure.Step(spanX), figure.Step(spanY)
	if !putts {
		stepX = max(stepX, stepY)
		stepY = stepX
	}
	for x := math.Ceil(c.x0/stepX) * stepX; x <= c.x0+spanX; x += stepX {
		class := "grid"
		if math.Abs(x) < stepX/1000 {
			class = "target"
		}
		c.line(class, x, c.y0, x, c.y0-spanY)
		px, _ := c.at(x, c.y0)
		label := figure.Unit{Factor: 1, Digits: 1}.Short(math.Abs(x))
		switch {
		case class == "target":
			label = "target"
		case x < 0:
			label += " L"
		default:
			label += " R"
		}
		if px > 20 && px < c.w-20 {
			c.text("tick", px, c.h-5, "middle", label)
		}
	}
	for y := math.Ceil((c.y0-spanY)/stepY) * stepY; y <= c.y0; y += stepY {
		c.line("grid", c.x0, y, c.x0+spanX, y)
		_, py := c.at(c.x0, y)
		if py > 14 && py < c.h-22 {
			c.text("tick", 4, py-4, "start", yu.With(figure.Unit{Factor: 1, Digits: 2}.Short(y)))
		}
	}
}

func (c *canvas) svg(class, label string) template.HTML {
	return template.HTML(fmt.Sprintf(`<svg class="%s" viewBox="0 0 %.0f %.0f" role="img" aria-label="%s">%s</svg>`, class, c.w, c.h, label, c.String()))
}

// face draws where on the face the shots were struck: the face of a club about
// its geometric centre, toe to the right. The outline is a help for the eye,
// not this club's.
func (s *server) face(state *rolling.State) template.HTML {
	trials := map[string]*rolling.Trial{}
	any := false
	for i := range state.Trials {
		trials[state.Trials[i].Key] = &state.Trials[i]
		any = any || state.Trials[i].Strike != nil
	}
	if !any || state.Session == nil {
		return ""
	}
	halfX, halfY := 0.050, 0.028
	switch state.Session.Category {
	case "iron", "wedge":
		halfX, halfY = 0.040, 0.030
	case "putter":
		halfX, halfY = 0.055, 0.016
	}
	c := &canvas{w: 360, x0: -halfX * 1.25, y0: halfY * 1.35}
	c.sx = c.w / (2.5 * halfX)
	c.sy = c.sx
	c.h = 2.7 * halfY * c.sy
	x, y := c.at(-halfX, halfY)
	fmt.Fprintf(c, `<rect class="face" x="%.1f" y="%.1f" width="%.1f" height="%.1f" rx="%.1f"/>`, x, y, 2*halfX*c.sx, 2*halfY*c.sy, halfY*c.sy*0.75)
	c.line("grid", -halfX, 0, halfX, 0)
	c.line("grid", 0, -halfY, 0, halfY)
	c.text("tick", c.w-6, c.h/2+4, "end", "toe")
	c.text("tick", 6, c.h/2+4, "start", "heel")
	for i := range state.Shots {
		shot := &state.Shots[i]
		x, ok1 := shot.Values["strike_x_m"]
		y, ok2 := shot.Values["strike_y_m"]
		if t := trials[shot.Row]; ok1 && ok2 && t != nil && shot.Status == "counts" {
			class := "shot"
			if t.Running {
				class += " running"
			}
			c.mark(class, shapeOf(t.Number), x, y, 4.5, fmt.Sprintf("Shot %d, trial %d", shot.Number, t.Number))
		}
	}
	one := figure.In("", 1, 0)
	c.means(state, "strike_x_m", "strike_y_m", one, one)
	return c.svg("facing", "Strike on the face, toe to the right, up is up")
}
