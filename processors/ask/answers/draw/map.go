package draw

import (
	"fmt"
	"html"
	"io"
	"math"
)

// Cell is one cell of a map: an effect at a value of a trait.
type Cell struct {
	Value, Low, High float64
	Sure             float64 // 0 to 1: how far the interval keeps off zero
	Says             string
	Link             string
}

// Map draws attributes (rows) over the values of a trait (columns): the number,
// its colour as strong as the effect is large and sure, and hatching over what is
// no finding. full is the size of an effect that gets the full colour.
func Map(w io.Writer, title, unit, trait string, rows, columns []string, cells [][]Cell, full float64) error {
	const width, left, top, high = 860.0, 190.0, 84.0, 46.0
	wide := (width - left - 14) / float64(max(len(columns), 1))
	height := top + high*float64(len(rows)) + 42
	var c canvas
	c.add(`<defs><pattern id="fl-hatch" class="hatch" width="7" height="7" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><path d="M0,0V7"/></pattern></defs>`)
	c.text("head", 14, 22, "start", title)
	c.text("soft", 14, 41, "start", "one step of each attribute, "+unit+"; below each its 95 % interval; hatched: not enough to say")
	c.text("soft", left, 60, "start", trait)
	for k, name := range columns {
		c.text("num", left+(float64(k)+0.5)*wide, top-8, "middle", name)
	}
	for i, name := range rows {
		y := top + high*float64(i)
		c.text("", left-10, y+high/2+5, "end", name)
		for k, cell := range cells[i] {
			x := left + float64(k)*wide
			tip := fmt.Sprintf("%s at %s: %.3g (%.3g to %.3g), %s", name, columns[k], cell.Value, cell.Low, cell.High, cell.Says)
			if cell.Link != "" {
				c.add(`<a href="%s">`, html.EscapeString(cell.Link))
			}
			strong := 0.0
			if full > 0 {
				strong = 0.65 * min(1, math.Abs(cell.Value)/full) * min(max(cell.Sure, 0), 1)
			}
			look := class(cell.Says)
			c.add(`<g class="%s"><title>%s</title><rect class="cell" x="%.1f" y="%.1f" width="%.1f" height="%.1f" opacity="%.2f"/>`, look, html.EscapeString(tip), x, y, wide, high, max(strong, 0.03))
			if look == "unsure" {
				c.add(`<rect fill="url(#fl-hatch)" x="%.1f" y="%.1f" width="%.1f" height="%.1f" opacity=".45"/>`, x, y, wide, high)
			}
			c.add(`<rect class="frame" x="%.1f" y="%.1f" width="%.1f" height="%.1f"/></g>`, x, y, wide, high)
			c.text("num head", x+wide/2, y+high/2-1, "middle", mark(cell.Says)+fmt.Sprintf("%+.2g", cell.Value))
			c.text("num soft", x+wide/2, y+high/2+15, "middle", fmt.Sprintf("%.2g to %.2g", cell.Low, cell.High))
			if cell.Link != "" {
				c.add("</a>")
			}
		}
	}
	c.text("soft", 14, height-16, "start", "▲ better   ▼ worse   = practically the same; colour is stronger where the effect is larger and surer")
	return c.write(w, width, height, title)
}

func mark(says string) string {
	switch class(says) {
	case "better":
		return "▲ "
	case "worse":
		return "▼ "
	case "same":
		return "= "
	}
	return ""
}
