package draw

import (
	"fmt"
	"html"
	"io"
	"math"
)

// Row is one interval of a forest plot, in the shown unit.
type Row struct {
	Group          string // attribute and step; shown once for its rows
	Label          string // the profile
	Value          float64
	Low, High      float64
	PILow, PIHigh  *float64 // for the next player
	Says           string
	Link           string // where the number leads; empty: nowhere
	Players, Pairs int
}

// Forest draws rows in their order. unit names the axis ("% of the spread"),
// better which side is improvement (−1 left, +1 right), margin the change that
// is practically none.
func Forest(w io.Writer, title, unit string, better, margin float64, rows []Row) error {
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
	var c canvas
	c.text("head", 14, 22, "start", title)
	c.text("soft", 14, 41, "start", "thick: 95 % interval of the mean; thin: the next player; filled: a finding; hollow: not enough to say")
	c.add(`<rect class="band" x="%.1f" y="%.1f" width="%.1f" height="%.1f"><title>practically the same</title></rect>`, x(-margin), top-6, x(margin)-x(-margin), y-top+12)
	for d, v := step(high-low, 8), math.Ceil(low/step(high-low, 8)); v*d <= high; v++ {
		c.line("axis", x(v*d), top-6, x(v*d), y+6)
		c.text("soft num", x(v*d), y+22, "middle", fmt.Sprintf("%.4g", v*d))
	}
	c.line("zero", x(0), top-6, x(0), y+6)
	side := "tighter or better to the right"
	if better < 0 {
		side = "better to the left"
	}
	c.text("soft", left, y+40, "start", unit+"; "+side)
	y, group = top, ""
	for _, r := range rows {
		if r.Group != group {
			group = r.Group
			y += line
			c.text("head", 14, y, "start", r.Group)
		}
		y += line
		mid := y - 4
		c.text("", 28, y, "start", r.Label)
		tip := fmt.Sprintf("%s, %s: %.3g (%.3g to %.3g), %s; %d players, %d levels", r.Group, r.Label, r.Value, r.Low, r.High, r.Says, r.Players, r.Pairs)
		if r.Link != "" {
			c.add(`<a href="%s">`, html.EscapeString(r.Link))
		}
		c.add(`<g class="%s"><title>%s</title>`, class(r.Says), html.EscapeString(tip))
		if r.PILow != nil && r.PIHigh != nil {
			c.line("pi", x(*r.PILow), mid, x(*r.PIHigh), mid)
		}
		c.line("ci", x(r.Low), mid, x(r.High), mid)
		for _, end := range []struct{ v, limit, d float64 }{{r.Low, low, 6}, {r.High, high, -6}} {
			if end.d > 0 && end.v < end.limit || end.d < 0 && end.v > end.limit {
				e := x(end.limit)
				c.add(`<path class="ci" fill="none" d="M%.1f,%.1fL%.1f,%.1fL%.1f,%.1f"/>`, e+end.d, mid-5, e, mid, e+end.d, mid+5)
			}
		}
		c.add(`<circle class="pt" cx="%.1f" cy="%.1f" r="5"/></g>`, x(r.Value), mid)
		c.text("num", width-12, y, "end", fmt.Sprintf("%+.3g", r.Value))
		if r.Link != "" {
			c.add("</a>")
		}
	}
	return c.write(w, width, height, title)
}
