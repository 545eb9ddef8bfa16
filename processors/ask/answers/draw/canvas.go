package draw

import (
	"fmt"
	"html"
	"io"
	"math"
	"strings"
)

const style = `<style>
.fl{--fl-ink:#1d2529;--fl-soft:#57636a;--fl-line:#d5d1c4;--fl-paper:#fffdf8;--fl-better:#2f5d3a;--fl-worse:#a12622;--fl-plain:#2d4a53}
@media (prefers-color-scheme:dark){.fl{--fl-ink:#ece8dd;--fl-soft:#a3adb2;--fl-line:#38434a;--fl-paper:#1c2327;--fl-better:#9ccfa6;--fl-worse:#ff9a8f;--fl-plain:#8fb7c3}}
.fl text{font:13px system-ui,"Segoe UI",Roboto,"DejaVu Sans",sans-serif;fill:var(--fl-ink)}.fl .soft{fill:var(--fl-soft)}.fl .head{font-weight:600}.fl .num{font-variant-numeric:tabular-nums}
.fl .axis{stroke:var(--fl-line)}.fl .zero{stroke:var(--fl-soft);stroke-dasharray:4 4}.fl .paper{fill:var(--fl-paper)}.fl .frame{fill:none;stroke:var(--fl-line)}
.fl .band{fill:var(--fl-line);opacity:.35}
.fl .better{--c:var(--fl-better)}.fl .worse{--c:var(--fl-worse)}.fl .same{--c:var(--fl-soft)}.fl .unsure{--c:var(--fl-plain)}
.fl .ci{stroke:var(--c);stroke-width:3}.fl .pi{stroke:var(--c);stroke-width:1}.fl .pt{fill:var(--c);stroke:var(--c);stroke-width:2}.fl .unsure .pt{fill:var(--fl-paper)}
.fl .cell{fill:var(--c)}.fl .hatch path{stroke:var(--fl-soft);stroke-width:1}
</style>`

// canvas gathers a picture.
type canvas struct{ b strings.Builder }

func (c *canvas) add(format string, args ...any) { fmt.Fprintf(&c.b, format, args...) }

func (c *canvas) text(class string, x, y float64, anchor, text string) {
	c.add(`<text class="%s" x="%.1f" y="%.1f" text-anchor="%s">%s</text>`, class, x, y, anchor, html.EscapeString(text))
}

func (c *canvas) line(class string, x1, y1, x2, y2 float64) {
	c.add(`<line class="%s" x1="%.1f" y1="%.1f" x2="%.1f" y2="%.1f"/>`, class, x1, y1, x2, y2)
}

// write ends the picture.
func (c *canvas) write(w io.Writer, width, height float64, label string) error {
	_, err := fmt.Fprintf(w, `<svg xmlns="http://www.w3.org/2000/svg" class="fl" viewBox="0 0 %.0f %.0f" role="img" aria-label="%s">%s<rect class="paper" width="%.0f" height="%.0f"/>%s</svg>`+"\n",
		width, height, html.EscapeString(label), style, width, height, c.b.String())
	return err
}

// step is a pleasant distance between ticks for a range.
func step(span float64, ticks int) float64 {
	raw := span / float64(max(ticks, 1))
	if !(raw > 0) || math.IsInf(raw, 0) {
		return 1
	}
	p := math.Pow(10, math.Floor(math.Log10(raw)))
	for _, m := range []float64{1, 2, 5, 10} {
		if p*m >= raw {
			return p * m
		}
	}
	return 10 * p
}

// class is how a verdict looks.
func class(says string) string {
	switch says {
	case "better", "worse":
		return says
	case "practically the same":
		return "same"
	}
	return "unsure"
}
