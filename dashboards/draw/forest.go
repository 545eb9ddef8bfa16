package draw

import (
	"fmt"
	"math"
)

// Row is one interval of a forest plot, in the shown unit.
type Row struct {
	Group          string // attribute and step; shown once for its rows
	Label          string // the profile
	Value          float64
	Low, High      float64
	PILow, PIHigh  *float64 // for the next player
	Kind           string   // better, worse, same or "": how it looks
	Says           string   // its verdict in words
	Link           string   // where the number leads; empty: nowhere
	Players, Pairs int
}

// Forest draws rows in their order. unit names the axis ("% of the spread"),
// better which side is improvement (−1 left, +1 right), margin the change that
// is practically none.
func Forest(title, unit string, better, margin float64, rows []Row) *Picture {
	const width, left, right, top, line = 860.0, 268.0, 96.0, 58.0, 24.0
	low, high := -margin, margin
	for _, r := range rows {
		low, high = min(low, r.Low), max(high, r.High)
	}
	// One interval far wider than the others must not squeeze them: it runs off
	// the picture, with an arrow.
	reach := 0.0
	for _, r := range rows {
		reach = max(reach, math.Abs(r.Value)+1.2*margin)
	}
	low, high = max(low, -3*reach), min(high, 3*reach)
	if !(high > low) {
		low, high = -1, 1
	}
	pad := 0.04 * (high - low)
	low, high = low-pad, high+pad
	x := func(v float64) float64 {
		return left + (min(max(v, low), high)-low)/(high-low)*(width-left-right)
	}
	y, group := top, ""
	for _, r := range rows {
		if r.Group != group {
			group = r.Group
			y += line
		}
		y += line
	}
	height := y + 46
	p := NewPicture(width, height, title, "")
	p.Text("head", 14, 22, Start, title)
	p.Text("soft", 14, 41, Start, "thick: 95 % interval of the mean; thin: the next player; filled: a finding; hollow: none; band: within "+
		"the margin")
	p.Group("", "within the margin: two builds are practically the same",
		func() { p.Rect("band", x(-margin), top-6, x(margin)-x(-margin), y-top+12) })
	for _, v := range Ticks(low, high, 8) {
		p.Line("grid", x(v), top-6, x(v), y+6)
		p.Text("soft", x(v), y+22, Middle, fmt.Sprintf("%.4g", v))
	}
	p.Line("zero", x(0), top-6, x(0), y+6)
	side := "tighter or better to the right"
	if better < 0 {
		side = "better to the left"
	}
	p.Text("soft", left, y+40, Start, unit+"; "+side)
	figures := told(high - low)
	y, group = top, ""
	for _, r := range rows {
		if r.Group != group {
			group = r.Group
			y += line
			p.Text("head", 14, y, Start, r.Group)
		}
		y += line
		mid := y - 4
		p.Text("", 28, y, Start, r.Label)
		tip := fmt.Sprintf("%s, %s: %.3g (%.3g to %.3g), %s; %d players, %d levels", r.Group, r.Label, r.Value, r.Low, r.High, r.Says, r.Players,
			r.Pairs)
		p.Link(r.Link, func() {
			// bar draws an interval; an end beyond the picture has an arrow.
			bar := func(name string, from, to float64) {
				p.Line(name, x(from), mid, x(to), mid)
				for _, end := range []struct{ v, limit, d float64 }{{from, low, 6}, {to, high, -6}} {
					if end.d > 0 && end.v < end.limit || end.d < 0 && end.v > end.limit {
						var arrow Trace
						e := x(end.limit)
						arrow.To(e+end.d, mid-5)
						arrow.To(e, mid)
						arrow.To(e+end.d, mid+5)
						p.add(`<path class="%s" fill="none" d="%s"/>`, name, arrow.Open())
					}
				}
			}
			p.Group(look(r.Kind), tip, func() {
				if r.PILow != nil && r.PIHigh != nil {
					bar("pi", *r.PILow, *r.PIHigh)
				}
				bar("ci", r.Low, r.High)
				p.Circle("pt", x(r.Value), mid, 5)
			})
			p.Text("", width-12, y, End, figures.Signed(r.Value))
		})
	}
	return p
}

// look is how a verdict looks, by its kind or its words.
func look(kind string) string {
	switch kind {
	case "better", "worse", "same":
		return kind
	case "practically the same":
		return "same"
	}
	return "unsure"
}
