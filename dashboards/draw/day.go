package draw

import (
	"fmt"
	"time"
)

// Hour is what a bay's lines were in an hour of its day.
type Hour struct{ Counts, Other, Refused uint64 }

// Stretch is a time from which something was wrong, and how bad.
type Stretch struct {
	From, To time.Time
	Critical bool
	Says     string
}

// Day shows a bay's day: its lines by the hour, as bars of shots that count, other
// lines and refused ones from below, and above them when something was wrong. It
// ends where the day does, by the clock of from's zone.
func Day(title string, from time.Time, hours []Hour, wrong []Stretch) *Picture {
	const width, left, right, strip, top, tall = pageWidth, 46.0, 12.0, 24.0, 58.0, 130.0
	to := from.AddDate(0, 0, 1)
	x := Axis{0, to.Sub(from).Hours(), left, width - right}
	most := 0.0
	for _, h := range hours {
		most = max(most, float64(h.Counts+h.Other+h.Refused))
	}
	y := Axis{0, max(most, 1), top + tall, top}
	p := NewPicture(width, top+tall+62, title, "lines by the hour, and when something was wrong")
	p.Text("head", left, 16, Start, title)
	p.Rect("frame", x.From, strip, x.To-x.From, 14)
	for _, w := range wrong {
		a, b := x.Held(w.From.Sub(from).Hours()), x.Held(w.To.Sub(from).Hours())
		look := "warn"
		if w.Critical {
			look = "worse"
		}
		p.Group(look, w.Says, func() { p.Rect("solid", a, strip, max(b-a, 2), 14) })
	}
	p.Text("soft small", left-4, strip+11, End, "wrong")
	for _, v := range Ticks(0, y.High, 4) {
		p.Line("grid", x.From, y.At(v), x.To, y.At(v))
		p.Text("tick", x.From-4, y.At(v)+4, End, Label(v))
	}
	for h := 0.0; h <= x.High; h += 4 {
		p.Line("grid", x.At(h), top+tall, x.At(h), top+tall+4)
		p.Text("tick", x.At(h), top+tall+18, Middle, from.Add(time.Duration(h)*time.Hour).Format("15"))
	}
	for i, h := range hours {
		if h.Counts+h.Other+h.Refused == 0 {
			continue
		}
		says := fmt.Sprintf("%s: %d shots count, %d other lines, %d refused", from.Add(time.Duration(i)*time.Hour).Format("15:04"), h.Counts,
			h.Other, h.Refused)
		p.Group("", says, func() {
			below := 0.0
			for _, part := range []struct {
				class, look string
				n           uint64
			}{{"s1", "solid", h.Counts}, {"same", "pale", h.Other}, {"worse", "solid", h.Refused}} {
				if part.n == 0 {
					continue
				}
				p.Group(part.class, "", func() {
					p.Rect(part.look, x.At(float64(i))+2, y.At(below+float64(part.n)), x.Per()-4, y.At(below)-y.At(below+float64(part.n)))
				})
				below += float64(part.n)
			}
		})
	}
	at := left
	for _, key := range []struct{ class, look, says string }{{"s1", "solid", "shots that count"}, {"same", "pale", "other lines"},
		{"worse", "solid", "refused lines"}} {
		p.Group(key.class, "", func() { p.Rect(key.look, at, top+tall+34, 12, 12) })
		p.Text("soft", at+18, top+tall+45, Start, key.says)
		at += 136
	}
	return p
}
