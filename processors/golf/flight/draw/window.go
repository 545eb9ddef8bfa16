package draw

import (
	"fmt"
	"io"
	"math"

	"fairlead/processors/golf/flight/window"
)

// shades are the bands of loss, best first, in multiples of the window's 2 %.
var shades = [...]struct {
	upTo   float64
	colour string
}{{1, "#1f6f8b"}, {2, "#5f9fb2"}, {3, "#96c0cb"}, {5, "#c5dce1"}, {math.Inf(1), "#eef3f4"}}

// Window draws the surface of a launch window: launch angle across, spin up,
// darker where less is lost; the line that a centred strike at the player's
// attack lies on, its best point, and where the player is now. What hardly any
// strike can reach is veiled.
func Window(out io.Writer, w *window.Window, u Units) error {
	f := &w.Surface
	n := len(f.Launches)
	x := axis{f.Launches[0], f.Launches[n-1], 80, 640}
	y := axis{f.Spins[0], f.Spins[len(f.Spins)-1], 500, 40}
	title := fmt.Sprintf("Launch window at %.1f m/s, attack %+.1f°, for %s", w.Player.BallSpeed, w.Player.Attack, w.Goal)
	c := newCanvas(900, 560, title, fmt.Sprintf(
		"The best launch on the line of centred strikes is %.1f degrees with %.0f rpm, carrying %.1f %s.",
		w.Best.Launch, w.Best.Spin, w.Best.Carry/u.Length, u.LengthName))
	c.text(80, 22, "start", title, `font-weight="bold" font-size="14"`)

	// A cell lies around each grid point; neighbours in a row with one shade
	// are drawn as one rectangle.
	dx := (x.to - x.from) / float64(n-1)
	dy := (y.from - y.to) / float64(len(f.Spins)-1)
	c.put(`<clipPath id="plot"><rect x="%s" y="%s" width="%s" height="%s"/></clipPath><g clip-path="url(#plot)" shape-rendering="crispEdges">`,
		num(x.from), num(y.to), num(x.to-x.from), num(y.from-y.to))
	for i := range f.Spins {
		top := y.at(f.Spins[i]) - dy/2
		c.rows(n, func(j int) string { return shade(f.Points[i*n+j].Loss / w.Within) }, x.from-dx/2, top, dx, dy, 0.6, "")
	}
	for i := range f.Spins {
		top := y.at(f.Spins[i]) - dy/2
		c.rows(n, func(j int) string {
			if s := f.Points[i*n+j].SpinShare; s < window.LeastShare || s > window.MostShare {
				return "#ffffff"
			}
			return ""
		}, x.from-dx/2, top, dx, dy, 0, `fill-opacity="0.72"`)
	}
	c.put(`</g>`)
	c.frame(x, y, ticks(x.low, x.high, 8), ticks(y.low, y.high, 8), "launch angle, deg", "spin rate, rpm")

	c.put(`<g clip-path="url(#plot)">`)
	var d []byte
	for i, p := range w.Line {
		move := 'L'
		if i == 0 {
			move = 'M'
		}
		d = fmt.Appendf(d, "%c%s %s", move, num(x.at(p.Launch)), num(y.at(p.Spin)))
	}
	c.put(`<path d="%s" fill="none" stroke="%s" stroke-width="2" stroke-dasharray="7 4"/>`, d, ink)
	c.put(`</g>`)
	c.marker(x.at(w.Best.Launch), y.at(w.Best.Spin), "#ffffff", "best")
	if w.Present != nil {
		c.marker(x.at(w.Present.Launch), y.at(w.Present.Spin), "#f2a65a", "now")
	}
	c.legend(w, u)
	return c.flush(out)
}

// rows draws the cells of one row, merging equal neighbours; an empty colour
// draws nothing. Opaque cells overlap a little, so that no seams show.
func (c *canvas) rows(n int, colour func(int) string, left, top, dx, dy, overlap float64, more string) {
	for j := 0; j < n; {
		k := j + 1
		for k < n && colour(k) == colour(j) {
			k++
		}
		if colour(j) != "" {
			c.put(`<rect x="%s" y="%s" width="%s" height="%s" fill="%s" %s/>`,
				num(left+float64(j)*dx), num(top), num(float64(k-j)*dx+overlap), num(dy+overlap), colour(j), more)
		}
		j = k
	}
}

func shade(loss float64) string {
	for _, s := range shades {
		if loss <= s.upTo {
			return s.colour
		}
	}
	return shades[len(shades)-1].colour
}

func (c *canvas) marker(x, y float64, fill, name string) {
	c.put(`<circle cx="%s" cy="%s" r="6" fill="%s" stroke="%s" stroke-width="2"/>`, num(x), num(y), fill, ink)
	c.text(x+10, y-8, "start", name, `font-weight="bold" stroke="#ffffff" stroke-width="3" paint-order="stroke"`)
}

// legend explains the shades and gives the numbers that matter.
func (c *canvas) legend(w *window.Window, u Units) {
	y := 60.0
	say := func(s, more string) {
		c.text(664, y, "start", s, more)
		y += 18
	}
	say("lost against the best, "+u.LengthName, `font-weight="bold"`)
	low := ""
	for _, s := range shades {
		c.put(`<rect x="664" y="%s" width="20" height="14" fill="%s" stroke="%s" stroke-width="0.5"/>`, num(y-11), s.colour, faint)
		text := fmt.Sprintf("over %s", low)
		if !math.IsInf(s.upTo, 1) {
			high := fmt.Sprintf("%.1f", s.upTo*w.Within/u.Length)
			text = "up to " + high
			if low != "" {
				text = low + " to " + high
			}
			low = high
		}
		c.text(692, y, "start", text, "")
		y += 18
	}
	say("veiled: hardly any strike", "")
	say("brings such a spin", "")
	y += 8
	say("dashed: centred strikes", "")
	say("at this attack angle", "")
	y += 12
	say("best", `font-weight="bold"`)
	say(fmt.Sprintf("%.1f°, %.0f rpm", w.Best.Launch, w.Best.Spin), "")
	say(fmt.Sprintf("carry %.1f %s, lands %.0f°", w.Best.Carry/u.Length, u.LengthName, w.Best.Landing), "")
	if w.Goal == window.Green {
		say(fmt.Sprintf("runs %.1f %s (low confidence)", w.Best.Stop/u.Length, u.LengthName), "")
	}
	if w.Present == nil {
		return
	}
	y += 12
	say("now", `font-weight="bold"`)
	say(fmt.Sprintf("%.1f°, %.0f rpm", w.Present.Launch, w.Present.Spin), "")
	say(fmt.Sprintf("carry %.1f %s, lands %.0f°", w.Present.Carry/u.Length, u.LengthName, w.Present.Landing), "")
	if w.Goal == window.Green {
		say(fmt.Sprintf("runs %.1f %s (low confidence)", w.Present.Stop/u.Length, u.LengthName), "")
	}
	if w.Present.Loss > 0 {
		say(fmt.Sprintf("loses %.1f %s", w.Present.Loss/u.Length, u.LengthName), "")
	}
}
