package sheets

import (
	"fmt"
	"html/template"
	"math"
	"strings"

	"fairlead/dashboards/figure"
	"fairlead/processors/golf/dispersion"
	"fairlead/processors/visit/rolling"
)

// canvas maps points to a picture of a fixed width; y grows upward. One scale
// for both axes, but for putts, whose axes have none in common.
type canvas struct {
	strings.Builder
	x0, y0, sx, sy, w, h float64
}

func (c *canvas) at(x, y float64) (px, py float64) { return (x - c.x0) * c.sx, (c.y0 - y) * c.sy }

// dot is a shot: what the player came with hollow and round, what was chosen
// filled and square, so that a print without colour tells them apart.
func (c *canvas) dot(own bool, x, y float64, title string) {
	px, py := c.at(x, y)
	title = template.HTMLEscapeString(title)
	if own {
		fmt.Fprintf(c, `<circle class="own" cx="%.1f" cy="%.1f" r="5"><title>%s</title></circle>`, px, py, title)
		return
	}
	fmt.Fprintf(c, `<rect class="new" x="%.1f" y="%.1f" width="9" height="9"><title>%s</title></rect>`, px-4.5, py-4.5, title)
}

func (c *canvas) region(class string, e dispersion.Ellipse, f float64) {
	var d strings.Builder
	sin, cos := math.Sincos(e.TiltDeg * math.Pi / 180)
	for i := range 60 {
		s, k := math.Sincos(2 * math.Pi * float64(i) / 60)
		a, b := e.Major*k, e.Minor*s
		px, py := c.at((e.Centre[1]+a*sin+b*cos)*f, (e.Centre[0]+a*cos-b*sin)*f)
		fmt.Fprintf(&d, "%c%.1f,%.1f", "ML"[min(i, 1)], px, py)
	}
	fmt.Fprintf(c, `<path class="region %s" d="%sZ"/>`, class, d.String())
}

// cloud is the shots of one club.
type cloud struct {
	name   string
	own    bool
	points [][2]float64 // right, up: in stored units
	region *dispersion.Ellipse
}

// drawing shows where the shots of the own and of the chosen club went, and
// says in words what is what. It is empty where either has none.
func drawing(state *rolling.State, chosen int, u Units) (template.HTML, []string) {
	putts := state.Session.Category == "putter"
	xc, yc := "offline_m", "carry_m"
	xs, ys := u.Distance(), u.Distance()
	if putts {
		xc, yc = "launch_direction_deg", "ball_speed_mps"
		xs, ys = figure.In("°", 1, 1), u.Speed()
	}
	base := 0
	names := map[int]string{}
	clubOf := map[string]int{}
	for _, t := range state.Trials {
		if t.Key == state.Incumbent {
			base = t.Club
		}
		clubOf[t.Key] = t.Club
		if names[t.Club] == "" {
			names[t.Club] = t.Name
		}
	}
	clouds := []*cloud{{name: names[base], own: true}, {name: names[chosen]}}
	for i := range state.Shots {
		s := &state.Shots[i]
		x, ok1 := s.Values[xc]
		y, ok2 := s.Values[yc]
		if !ok1 || !ok2 || s.Status != "counts" {
			continue
		}
		for k, club := range []int{base, chosen} {
			if club != 0 && clubOf[s.Row] == club {
				clouds[k].points = append(clouds[k].points, [2]float64{x, y})
			}
		}
	}
	if len(clouds[0].points) == 0 || len(clouds[1].points) == 0 {
		return "", nil
	}
	first := true
	var x1, x2, y1, y2 float64
	grow := func(x, y float64) {
		if first {
			x1, x2, y1, y2, first = x, x, y, y, false
		}
		x1, x2, y1, y2 = min(x1, x), max(x2, x), min(y1, y), max(y2, y)
	}
	for _, k := range clouds {
		var shots []dispersion.Shot
		for _, p := range k.points {
			grow(p[0]*xs.Factor, p[1]*ys.Factor)
			shots = append(shots, dispersion.Shot{Carry: p[1], Offline: p[0]})
		}
		if putts {
			continue
		}
		if e, err := nextShots(shots); err == nil {
			k.region = &e
			for _, d := range []float64{-1, 1} {
				sin, cos := math.Sincos(e.TiltDeg * math.Pi / 180)
				w, h := math.Hypot(e.Major*sin, e.Minor*cos), math.Hypot(e.Major*cos, e.Minor*sin)
				grow((e.Centre[1]+d*w)*xs.Factor, (e.Centre[0]+d*h)*ys.Factor)
			}
		}
	}
	grow(0, y1) // the target line is always in the picture
	c := frame(x1, x2, y1, y2, !putts)
	c.grid(xs, ys, putts)
	legend := []string{}
	for _, k := range clouds {
		class, sign := "new", "■"
		if k.own {
			class, sign = "own", "○"
		}
		text := fmt.Sprintf("%s %s, %s", sign, k.name, plural(len(k.points), "shot", "shots"))
		if k.region != nil {
			c.region(class, *k.region, xs.Factor)
			text += map[bool]string{true: "; dashed line", false: "; full line"}[k.own] + ": where 9 in 10 next shots should land"
		}
		legend = append(legend, text)
	}
	for _, k := range clouds {
		for _, p := range k.points {
			c.dot(k.own, p[0]*xs.Factor, p[1]*ys.Factor, fmt.Sprintf("%s: %s, %s", k.name, ys.Text(p[1]), sided(xs, p[0])))
		}
	}
	title := "Where the shots landed, seen from above, one figure.Unit both ways: " + strings.Join(legend, "; ")
	if putts {
		title = "Ball speed over start line of the putts: " + strings.Join(legend, "; ")
	}
	return template.HTML(fmt.Sprintf(`<svg class="plot" viewBox="0 0 %.0f %.0f" role="img" aria-label="%s">%s</svg>`, c.w, c.h, template.HTMLEscapeString(title), c.String())), legend
}

// fewestForRegion is how many shots a region is drawn from: with fewer it is
// wider than the picture.
const fewestForRegion = 6

// nextShots is where nine in ten next shots should land.
func nextShots(shots []dispersion.Shot) (dispersion.Ellipse, error) {
	if len(shots) < fewestForRegion {
		return dispersion.Ellipse{}, fmt.Errorf("region of %d shots: too few", len(shots))
	}
	s, err := dispersion.NewScatter(dispersion.Metres(shots))
	if err != nil {
		return dispersion.Ellipse{}, err
	}
	return s.NextShotEllipse(0.9)
}

// sided writes a distance to one side of the target.
func sided(s figure.Unit, x float64) string {
	text := s.Text(math.Abs(x))
	switch {
	case strings.HasPrefix(text, "0") && s.Short(math.Abs(x)) == "0":
		return "on line"
	case x < 0:
		return text + " left"
	}
	return text + " right"
}

func frame(x1, x2, y1, y2 float64, square bool) *canvas {
	c := &canvas{w: 600}
	spanX, spanY := max(x2-x1, 1e-6), max(y2-y1, 1e-6)
	if square {
		spanX, spanY = max(spanX, 10, spanY/1.1), max(spanY, 10, spanX/2.5)
	} else {
		spanX, spanY = max(spanX, 1), max(spanY, 0.2)
	}
	spanX, spanY = spanX*1.15, spanY*1.15
	c.x0, c.y0 = (x1+x2)/2-spanX/2, (y1+y2)/2+spanY/2
	c.sx = c.w / spanX
	c.sy = c.sx
	if !square {
		c.sy = 380 / spanY
	}
	c.h = spanY * c.sy
	return c
}

func (c *canvas) grid(xs, ys figure.Unit, putts bool) {
	spanX, spanY := c.w/c.sx, c.h/c.sy
	stepX, stepY := figure.Step(spanX), figure.Step(spanY)
	if !putts {
		stepX = max(stepX, stepY)
		stepY = stepX
	}
	line := func(class string, xa, ya, xb, yb float64) {
		a, b := c.at(xa, ya)
		d, e := c.at(xb, yb)
		fmt.Fprintf(c, `<line class="%s" x1="%.1f" y1="%.1f" x2="%.1f" y2="%.1f"/>`, class, a, b, d, e)
	}
	label := func(px, py float64, anchor, text string) {
		fmt.Fprintf(c, `<text class="tick" x="%.1f" y="%.1f" text-anchor="%s">%s</text>`, px, py, anchor, template.HTMLEscapeString(text))
	}
	plain := figure.In("", 1, 2)
	for x := math.Ceil(c.x0/stepX) * stepX; x <= c.x0+spanX; x += stepX {
		text, class := plain.Short(math.Abs(x)), "grid"
		switch {
		case math.Abs(x) < stepX/1000:
			text, class = "target line", "target"
		case x < 0:
			text += " left"
		default:
			text += " right"
		}
		line(class, x, c.y0, x, c.y0-spanY)
		if px, _ := c.at(x, c.y0); px > 40 && px < c.w-40 {
			label(px, c.h-6, "middle", text)
		}
	}
	for y := math.Ceil((c.y0-spanY)/stepY) * stepY; y <= c.y0; y += stepY {
		line("grid", c.x0, y, c.x0+spanX, y)
		if _, py := c.at(c.x0, y); py > 16 && py < c.h-26 {
			label(4, py-4, "start", ys.With(plain.Short(y)))
		}
	}
}
