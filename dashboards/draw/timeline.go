package draw

import (
	"fmt"
	"math"

	"fairlead/dashboards/figure"
)

// Timeline shows a session in the order in which it was hit: trials as bands, the
// direction of each shot and its carry (a putt's ball speed), each trial's mean
// and, where its last five differ from those before, theirs; below, what the
// player was told and felt. nil before the first shot.
func (s *Session) Timeline() *Picture {
	last := 0
	for _, r := range s.runs {
		for _, shot := range r.shots {
			last = max(last, shot.Number)
		}
	}
	if last == 0 {
		return nil
	}
	p := NewPicture(pageWidth, 0, "The session in order", "")
	x := Axis{0.5, float64(max(last, 8)) + 0.5, 46, pageWidth - 12}
	tracks := []struct {
		title, column string
		unit          figure.Unit
		sides         bool
	}{{"direction", "", figure.In("°", 1, 1), true}, {"carry", "carry_m", s.units.Distance(), false}}
	if s.putts {
		tracks[0].title, tracks[0].column = "start line", "launch_direction_deg"
		tracks[1].title, tracks[1].column, tracks[1].unit = "ball speed", "ball_speed_mps", s.units.Speed()
	}
	const tall = 96.0
	top := 42.0
	bottom := top + tall*float64(len(tracks)) + 24*float64(len(tracks)-1)
	s.bands(p, x, 22, bottom)
	for _, track := range tracks {
		of := func(k int, r *run) (float64, bool) {
			shot := r.shots[k]
			if track.column == "" {
				if shot.Dir == nil {
					return 0, false
				}
				return *shot.Dir, true
			}
			v, ok := shot.Values[track.column]
			return v * track.unit.Factor, ok
		}
		low, high := math.Inf(1), math.Inf(-1)
		if track.sides {
			low, high = 0, 0
		}
		for _, r := range s.runs {
			for k := range r.shots {
				if v, ok := of(k, r); ok {
					low, high = min(low, v), max(high, v)
				}
			}
		}
		if low > high {
			continue
		}
		pad := max((high-low)*0.08, 0.2)
		y := Axis{low - pad, high + pad, top + tall, top}
		for _, v := range Ticks(y.Low, y.High, 3) {
			look, text := "grid", Label(v)
			if track.sides {
				if text = sideLabel(v, figure.Unit{}); v == 0 {
					look, text = "target", "0"
				}
			}
			p.Line(look, x.From, y.At(v), x.To, y.At(v))
			p.Text("tick", x.From-4, y.At(v)+4, End, text)
		}
		p.Text("label soft small", x.From+4, top-5, Start, track.title+", "+track.unit.Name)
		for _, r := range s.runs {
			s.track(p, r, x, y, of)
		}
		top += tall + 24
	}
	for _, v := range Ticks(1, float64(max(last, 8)), 8) {
		if v == math.Trunc(v) {
			p.Text("tick", x.At(v), bottom+16, Middle, Label(v))
		}
	}
	p.height = s.told(p, bottom+22)
	return p
}

// bands shades every other trial and names each on top.
func (s *Session) bands(p *Picture, x Axis, top, bottom float64) {
	free := -1.0
	for i, r := range s.runs {
		first, last := r.shots[0].Number, r.shots[len(r.shots)-1].Number
		from, to := x.At(float64(first)-0.5), x.At(float64(last)+0.5)
		if i%2 == 0 {
			p.Rect("band", from, top, to-from, bottom-top)
		}
		if r.label != "" && from >= free {
			p.Group(Series(r.number), "", func() { p.Text("word head", from+2, top-6, Start, r.label) })
			free = from + 9*float64(len(r.label)) + 4
		}
	}
}

// track draws one run's shots on one axis, their mean, and that of the last five
// where they differ.
func (s *Session) track(p *Picture, r *run, x, y Axis, of func(int, *run) (float64, bool)) {
	look := Series(r.number)
	if r.filled {
		look += " running"
	}
	sum, n := 0.0, 0
	p.Group(look, "", func() {
		for k, shot := range r.shots {
			v, ok := of(k, r)
			if !ok {
				continue
			}
			name := "shot"
			if shot.Status != "counts" {
				name += " out"
			} else {
				sum, n = sum+v, n+1
			}
			p.Path(name, Shape(r.number, x.At(float64(shot.Number)), y.At(v), 3.4))
		}
		if n > 1 {
			at := y.At(sum / float64(n))
			p.Line("line", x.At(float64(r.shots[0].Number)-0.4), at, x.At(float64(r.shots[len(r.shots)-1].Number)+0.4), at)
		}
		if r.trial.Drifting && len(r.shots) > 5 {
			late, m := 0.0, 0
			for k := len(r.shots) - 5; k < len(r.shots); k++ {
				if v, ok := of(k, r); ok {
					late, m = late+v, m+1
				}
			}
			if m > 0 {
				at := y.At(late / float64(m))
				p.Line("thick", x.At(float64(r.shots[len(r.shots)-5].Number)-0.4), at, x.At(float64(r.shots[len(r.shots)-1].Number)+0.4), at)
			}
		}
	})
}

// told lists what was said, in order, and returns how far down it reaches.
func (s *Session) told(p *Picture, y float64) float64 {
	line := func(r *run, text string) {
		y += 18
		p.Group(Series(r.number), "", func() { p.Path("sign", Shape(r.number, 20, y-4.5, 4.5)) })
		p.Text("", 32, y, Start, kept(text, 56))
	}
	noted := map[string]bool{}
	for _, r := range s.runs {
		name := r.label
		if name == "" {
			name = r.name
		}
		if words := r.trial.Instruction; words != "" {
			line(r, fmt.Sprintf("%s, from shot %d told: “%s”", name, r.shots[0].Number, words))
		}
		if r.trial.Drifting {
			line(r, name+": the last five differ (thick line)")
		}
		for _, f := range r.trial.Feels {
			if noted[f.Event] || f.Words == "" && f.Liking == 0 {
				continue
			}
			noted[f.Event] = true
			text := name + " felt: "
			if f.Words != "" {
				text += "“" + f.Words + "” "
			}
			line(r, text+Liking(f.Liking))
		}
	}
	return y + 12
}

// Liking says how a player likes a club, from −2 to 2; "" where it was not said.
func Liking(n int32) string {
	return map[int32]string{-2: "dislikes it much", -1: "dislikes it", 1: "likes it", 2: "likes it much"}[n]
}
