package club

import (
	"fairlead/ingest/contract/unit"
	"fmt"
	"html"
	"io"
	"math"
	"strings"
)

// Measures of the drawing, in SVG user units.
const (
	drawWidth, drawLeft, drawRight = 900.0, 150.0, 200.0
	rowHeight, barHeight           = 34.0, 14.0
	drawTop                        = 64.0
)

// verdictInk is the colour of a verdict; the word stands beside it always, so
// that nothing depends on telling colours apart.
var verdictInk = map[Verdict]string{
	Fine: "#2f6f5e", Hole: "#a3431f", Overlap: "#8a6a00", CannotTell: "#5b6470", NotYet: "#5b6470",
}

// DrawGapping writes the bag as an SVG picture: a bar for each full swing up to
// its mean carry, the middle nine tenths of its shots as a pale band, the
// interval of the mean as a whisker, and between neighbours the gap and its
// verdict; partial wedge swings stand below. imperial shows yards.
func DrawGapping(w io.Writer, g Gapping, imperial bool) error {
	d := drawing{scale: 1, unit: "m"}
	if imperial {
		d.scale, d.unit = 1/unit.Yard, "yd"
	}
	for _, p := range append(append([]Position(nil), g.Full...), g.Wedges...) {
		d.top = math.Max(d.top, (p.Carry.Mean+2*p.Carry.SD)*d.scale)
	}
	d.step = 25.0
	if d.top > 150 {
		d.step = 50
	}
	d.top = math.Max(d.step, math.Ceil(d.top/d.step)*d.step)

	y := d.rows(g.Full, g.Gaps, g.Options, drawTop)
	if hasPartial(g.Wedges) {
		d.text(drawLeft, y+30, "start", "#1f2933", 14, "Wedge swings")
		y = d.rows(g.Wedges, g.Short, g.Options, y+42)
	}
	grid := d.grid(y)
	foot := y + 46
	d.text(drawLeft, foot, "start", "#5b6470", 11, fmt.Sprintf("bar: mean carry (%s) · pale band: nine shots in ten · whisker: %.0f %% interval of the mean · right: gap to the next club", d.unit, 100*g.Options.Level))
	_, err := fmt.Fprintf(w, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %.0f %.0f" width="%.0f" height="%.0f" font-family="sans-serif" role="img" aria-label="Carry of each club with gaps">
<rect width="100%%" height="100%%" fill="#fbfaf7"/>
<text x="%.0f" y="34" font-size="18" fill="#1f2933">Carry and gaps</text>
%s%s</svg>
`, drawWidth, foot+20, drawWidth, foot+20, drawLeft, grid, d.body.String())
	if err != nil {
		return fmt.Errorf("draw gapping: %w", err)
	}
	return nil
}

type drawing struct {
	body             strings.Builder
	scale, top, step float64
	unit             string
}

// x places a carry in m on the page.
func (d *drawing) x(carry float64) float64 {
	return drawLeft + (drawWidth-drawLeft-drawRight)*math.Max(0, math.Min(1, carry*d.scale/d.top))
}

func (d *drawing) text(x, y float64, anchor, ink string, size float64, text string) {
	fmt.Fprintf(&d.body, "<text x=\"%.1f\" y=\"%.1f\" text-anchor=\"%s\" fill=\"%s\" font-size=\"%.0f\">%s</text>\n", x, y, anchor, ink, size, html.EscapeString(text))
}

// rows draws positions from y down and returns where they end.
func (d *drawing) rows(ps []Position, gaps []Gap, o GapOptions, y float64) float64 {
	if len(ps) == 0 {
		d.text(drawLeft, y+20, "start", "#5b6470", 13, "no shots yet")
		return y + rowHeight
	}
	for i, p := range ps {
		mid := y + rowHeight*(float64(i)+0.5)
		c := p.Carry
		fmt.Fprintf(&d.body, "<rect x=\"%.1f\" y=\"%.1f\" width=\"%.1f\" height=\"%.0f\" fill=\"#8fb3c4\"/>\n", drawLeft, mid-barHeight/2, d.x(c.Mean)-drawLeft, barHeight)
		d.text(drawLeft-10, mid+4, "end", "#1f2933", 13, short(p.Name()))
		label := d.x(c.Mean)
		if c.Ready() {
			e := of(c, o.Resolution)
			shot := estimate{e.mean, math.Sqrt(e.se*e.se*float64(c.N) + e.se*e.se), e.df}
			low, high := shot.interval(0.9)
			fmt.Fprintf(&d.body, "<rect x=\"%.1f\" y=\"%.1f\" width=\"%.1f\" height=\"%.0f\" fill=\"#27506a\" fill-opacity=\"0.22\"/>\n", d.x(low), mid-barHeight/2-3, d.x(high)-d.x(low), barHeight+6)
			label = d.x(high)
			low, high = e.interval(o.Level)
			fmt.Fprintf(&d.body, "<path d=\"M%.1f %.1fH%.1fM%.1f %.1fv8M%.1f %.1fv8\" stroke=\"#14303f\" stroke-width=\"2\" fill=\"none\"/>\n", d.x(low), mid, d.x(high), d.x(low), mid-4, d.x(high), mid-4)
		}
		d.text(label+8, mid+4, "start", "#1f2933", 12, fmt.Sprintf("%.0f", c.Mean*d.scale))
		if i < len(gaps) {
			d.gap(gaps[i], mid+rowHeight/2)
		}
	}
	return y + rowHeight*float64(len(ps))
}

// gap writes the gap between two rows, at their border.
func (d *drawing) gap(g Gap, y float64) {
	x := drawWidth - drawRight + 44
	ink := verdictInk[g.Verdict]
	label := string(g.Verdict)
	if g.Known {
		label = fmt.Sprintf("%.1f %s  %s", g.Mean*d.scale, d.unit, g.Verdict)
	} else {
		label += fmt.Sprintf(": %d more", g.More)
	}
	fmt.Fprintf(&d.body, "<path d=\"M%.1f %.1fh6v%.1fh-6\" stroke=\"%s\" stroke-width=\"1.5\" fill=\"none\"/>\n", x-12, y-rowHeight/2+5, rowHeight-10, ink)
	d.text(x+2, y+4, "start", ink, 12, label)
}

// grid draws the carry lines behind the bars, labelled at the bottom.
func (d *drawing) grid(bottom float64) string {
	var b strings.Builder
	for v := 0.0; v <= d.top+1e-9; v += d.step {
		x := d.x(v / d.scale)
		fmt.Fprintf(&b, "<path d=\"M%.1f %.0fV%.1f\" stroke=\"#d9d6cd\"/><text x=\"%.1f\" y=\"%.1f\" text-anchor=\"middle\" fill=\"#5b6470\" font-size=\"11\">%.0f</text>\n", x, drawTop-6, bottom+6, x, bottom+22, v)
	}
	return b.String()
}

func hasPartial(ps []Position) bool {
	for _, p := range ps {
		if !p.Full() {
			return true
		}
	}
	return false
}

// short keeps a name within the margin.
func short(name string) string {
	if r := []rune(name); len(r) > 20 {
		return string(r[:19]) + "…"
	}
	return name
}
