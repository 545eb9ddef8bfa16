package draw

import (
	"fmt"
	"math"

	"fairlead/ingest/contract/unit"
	"fairlead/processors/golf/club"
)

// Measures of a bag's picture.
const (
	bagWidth, bagLeft, bagRight = 900.0, 150.0, 200.0
	bagRow, bagBar, bagTop      = 34.0, 14.0, 64.0
)

// gapLook is how a verdict on a gap looks; the word stands beside it always.
var gapLook = map[club.Verdict]string{club.Fine: "better", club.Hole: "worse", club.Overlap: "warn", club.CannotTell: "same",
	club.NotYet: "same"}

// Gapping draws a bag: a bar for each full swing up to its mean carry, the
// middle nine tenths of its shots as a pale band, the interval of the mean as a
// whisker, and between neighbours the gap and its verdict; partial wedge swings
// stand below. imperial shows yards.
func Gapping(g club.Gapping, imperial bool) *Picture {
	d := bag{scale: 1, unit: "m"}
	if imperial {
		d.scale, d.unit = 1/unit.Yard, "yd"
	}
	top := 0.0
	for _, p := range append(append([]club.Position(nil), g.Full...), g.Wedges...) {
		top = math.Max(top, (p.Carry.Mean+2*p.Carry.SD)*d.scale)
	}
	step := 25.0
	if top > 150 {
		step = 50
	}
	top = math.Max(step, math.Ceil(top/step)*step)
	d.x = Axis{0, top, bagLeft, bagWidth - bagRight}

	partial := false
	for _, p := range g.Wedges {
		partial = partial || !p.Full()
	}
	// How tall it gets is known from its rows.
	bottom := bagTop + bagRow*float64(max(len(g.Full), 1))
	if partial {
		bottom += 42 + bagRow*float64(max(len(g.Wedges), 1))
	}
	d.Picture = NewPicture(bagWidth, bottom+66, "Carry of each club with gaps", "")
	d.Text("big", bagLeft, 34, Start, "Carry and gaps")
	for _, v := range TicksBy(0, top, step) {
		d.Line("grid", d.x.At(v), bagTop-6, d.x.At(v), bottom+6)
		d.Text("tick", d.x.At(v), bottom+22, Middle, Label(v))
	}
	y := d.rows(g.Full, g.Gaps, g.Options, bagTop)
	if partial {
		d.Text("", bagLeft, y+30, Start, "Wedge swings")
		d.rows(g.Wedges, g.Short, g.Options, y+42)
	}
	d.Text("soft small", bagLeft, bottom+46, Start,
		fmt.Sprintf("bar: mean carry (%s) · pale band: nine shots in ten · whisker: %.0f %% interval of the mean · right: gap to the next club",
			d.unit, 100*g.Options.Level))
	return d.Picture
}

type bag struct {
	*Picture
	x     Axis // carry in the shown unit
	scale float64
	unit  string
}

func (d *bag) at(carry float64) float64 { return d.x.Held(carry * d.scale) }

// rows draws positions from y down and returns where they end.
func (d *bag) rows(ps []club.Position, gaps []club.Gap, o club.GapOptions, y float64) float64 {
	if len(ps) == 0 {
		d.Text("soft", bagLeft, y+20, Start, "no shots yet")
		return y + bagRow
	}
	for i, p := range ps {
		mid := y + bagRow*(float64(i)+0.5)
		c := p.Carry
		d.Group("s1", "", func() {
			d.add(`<rect class="solid" opacity=".55" x="%s" y="%s" width="%s" height="%s"/>`, num(bagLeft), num(mid-bagBar/2), num(d.at(c.Mean)-bagLeft), num(bagBar))
			d.Text("", bagLeft-10, mid+4, End, kept(p.Name(), 20))
			label := d.at(c.Mean)
			if c.Ready() {
				low, high := c.NextInterval(0.9, o.Resolution)
				d.Rect("pale", d.at(low), mid-bagBar/2-3, d.at(high)-d.at(low), bagBar+6)
				label = d.at(high)
				low, high = c.MeanInterval(o.Level, o.Resolution)
				d.add(`<path d="M%s %sH%sM%s %sv8M%s %sv8" fill="none" stroke="var(--fl-ink)" stroke-width="2"/>`,
					num(d.at(low)), num(mid), num(d.at(high)), num(d.at(low)), num(mid-4), num(d.at(high)), num(mid-4))
			}
			d.Text("", label+8, mid+4, Start, fmt.Sprintf("%.0f", c.Mean*d.scale))
		})
		if i < len(gaps) {
			d.gap(gaps[i], mid+bagRow/2)
		}
	}
	return y + bagRow*float64(len(ps))
}

// gap writes the gap between two rows, at their border.
func (d *bag) gap(g club.Gap, y float64) {
	x := bagWidth - bagRight + 44
	label := string(g.Verdict)
	if g.Known {
		label = fmt.Sprintf("%.1f %s  %s", g.Mean*d.scale, d.unit, g.Verdict)
	} else {
		label += fmt.Sprintf(": %d more", g.More)
	}
	d.Group(gapLook[g.Verdict], "", func() {
		d.add(`<path d="M%s %sh6v%sh-6" fill="none" stroke="var(--c)" stroke-width="1.5"/>`, num(x-12), num(y-bagRow/2+5), num(bagRow-10))
		d.Text("word", x+2, y+4, Start, label)
	})
}

// kept keeps a name within so many letters.
func kept(name string, most int) string {
	if r := []rune(name); len(r) > most {
		return string(r[:most-1]) + "…"
	}
	return name
}
