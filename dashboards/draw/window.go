package draw

import (
	"fmt"
	"math"

	"fairlead/processors/golf/flight/window"
)

// shades are the bands of loss, best first, in multiples of the window's 2 %.
var shades = [...]struct {
	upTo float64
	look string
}{{1, "r1"}, {2, "r2"}, {3, "r3"}, {5, "r4"}, {math.Inf(1), "r5"}}

// Window draws the surface of a launch window: launch angle across, spin up,
// stronger where less is lost; the line that a centred strike at the player's
// attack lies on, its best point, and where the player is now. What hardly any
// strike can reach is veiled.
func Window(w *window.Window, u Units) *Picture {
	f := &w.Surface
	n := len(f.Launches)
	x := Axis{f.Launches[0], f.Launches[n-1], 80, 640}
	y := Axis{f.Spins[0], f.Spins[len(f.Spins)-1], 500, 40}
	title := fmt.Sprintf("Launch window at %.1f m/s, attack %+.1f°, for %s", w.Player.BallSpeed, w.Player.Attack, w.Goal)
	p := NewPicture(900, 560, title, fmt.Sprintf(
		"The best launch on the line of centred strikes is %.1f degrees with %.0f rpm, carrying %.1f %s.",
		w.Best.Launch, w.Best.Spin, w.Best.Carry/u.Length, u.LengthName))
	p.Text("head", 80, 22, Start, title)

	// A cell lies around each grid point; neighbours in a row with one shade
	// are drawn as one rectangle.
	dx := (x.To - x.From) / float64(n-1)
	dy := (y.From - y.To) / float64(len(f.Spins)-1)
	p.Clip("window-plot", x.From, y.To, x.To-x.From, y.From-y.To, func() {
		p.add(`<g shape-rendering="crispEdges">`)
		for i := range f.Spins {
			top := y.At(f.Spins[i]) - dy/2
			p.cells(n, func(j int) string { return shade(f.Points[i*n+j].Loss / w.Within) }, x.From-dx/2, top, dx, dy, 0.6)
		}
		for i := range f.Spins {
			top := y.At(f.Spins[i]) - dy/2
			p.cells(n, func(j int) string {
				if s := f.Points[i*n+j].SpinShare; s < window.LeastShare || s > window.MostShare {
					return "veil"
				}
				return ""
			}, x.From-dx/2, top, dx, dy, 0)
		}
		p.add("</g>")
	})
	p.frame(x, y, Ticks(x.Low, x.High, 8), Ticks(y.Low, y.High, 8), "launch angle, deg", "spin rate, rpm")
	var line Trace
	for _, q := range w.Line {
		line.To(x.At(q.Launch), y.At(q.Spin))
	}
	p.Clip("window-line", x.From, y.To, x.To-x.From, y.From-y.To, func() {
		p.Group("d2", "", func() { p.Path("line", line.Open()) })
	})
	p.spot(x.At(w.Best.Launch), y.At(w.Best.Spin), "best", false)
	if w.Present != nil {
		p.spot(x.At(w.Present.Launch), y.At(w.Present.Spin), "now", true)
	}
	p.windowLegend(w, u)
	return p
}

// cells draws the cells of one row, merging equal neighbours; no look draws
// nothing. Opaque cells overlap a little, so that no seams show.
func (p *Picture) cells(n int, look func(int) string, left, top, dx, dy, overlap float64) {
	for j := 0; j < n; {
		k := j + 1
		for k < n && look(k) == look(j) {
			k++
		}
		if look(j) != "" {
			p.Rect(look(j), left+float64(j)*dx, top, float64(k-j)*dx+overlap, dy+overlap)
		}
		j = k
	}
}

func shade(loss float64) string {
	for _, s := range shades {
		if loss <= s.upTo {
			return s.look
		}
	}
	return shades[len(shades)-1].look
}

// spot marks a point of the window: what is hit now filled, the best hollow.
func (p *Picture) spot(x, y float64, name string, filled bool) {
	look := "ring"
	if filled {
		look = "pt"
	}
	p.Group("warn", "", func() { p.Circle(look, x, y, 6) })
	p.Text("label", x+10, y-8, Start, name)
}

// windowLegend explains the shades and gives the numbers that matter.
func (p *Picture) windowLegend(w *window.Window, u Units) {
	y := 60.0
	say := func(s, look string) {
		p.Text(look, 664, y, Start, s)
		y += 18
	}
	say("lost against the best, "+u.LengthName, "head")
	low := ""
	for _, s := range shades {
		p.Rect(s.look, 664, y-11, 20, 14)
		p.Rect("frame", 664, y-11, 20, 14)
		text := fmt.Sprintf("over %s", low)
		if !math.IsInf(s.upTo, 1) {
			high := fmt.Sprintf("%.1f", s.upTo*w.Within/u.Length)
			text = "up to " + high
			if low != "" {
				text = low + " to " + high
			}
			low = high
		}
		p.Text("", 692, y, Start, text)
		y += 18
	}
	say("veiled: hardly any strike", "")
	say("brings such a spin", "")
	y += 8
	say("dashed: centred strikes", "")
	say("at this attack angle", "")
	y += 12
	say("best", "head")
	say(fmt.Sprintf("%.1f°, %.0f rpm", w.Best.Launch, w.Best.Spin), "")
	say(fmt.Sprintf("carry %.1f %s, lands %.0f°", w.Best.Carry/u.Length, u.LengthName, w.Best.Landing), "")
	if w.Goal == window.Green {
		say(fmt.Sprintf("runs %.1f %s (low confidence)", w.Best.Stop/u.Length, u.LengthName), "")
	}
	if w.Present == nil {
		return
	}
	y += 12
	say("now", "head")
	say(fmt.Sprintf("%.1f°, %.0f rpm", w.Present.Launch, w.Present.Spin), "")
	say(fmt.Sprintf("carry %.1f %s, lands %.0f°", w.Present.Carry/u.Length, u.LengthName, w.Present.Landing), "")
	if w.Goal == window.Green {
		say(fmt.Sprintf("runs %.1f %s (low confidence)", w.Present.Stop/u.Length, u.LengthName), "")
	}
	if w.Present.Loss > 0 {
		say(fmt.Sprintf("loses %.1f %s", w.Present.Loss/u.Length, u.LengthName), "")
	}
}
