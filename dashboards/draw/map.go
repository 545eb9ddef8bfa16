package draw

import (
	"fmt"
	"math"
)

// Cell is one cell of a map: an effect at a value of a trait.
type Cell struct {
	Value, Low, High float64
	Sure             float64 // 0 to 1: how far the interval keeps off zero
	Kind             string  // as of a Row
	Says             string
	Link             string
}

// Map draws attributes (rows) over the values of a trait (columns): the number,
// its colour as strong as the effect is large and sure, and hatching over what is
// no finding. full is the size of an effect that gets the full colour.
func Map(title, unit, trait string, rows, columns []string, cells [][]Cell, full float64) *Picture {
	const width, left, top, high = 860.0, 190.0, 84.0, 46.0
	wide := (width - left - 14) / float64(max(len(columns), 1))
	height := top + high*float64(len(rows)) + 42
	p := NewPicture(width, height, title, "")
	p.add(`<defs><pattern id="fl-hatch" class="hatch" width="7" height="7" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><path d="M0,0V7"/></pattern></defs>`)
	p.Text("head", 14, 22, Start, title)
	p.Text("soft", 14, 41, Start, "one step of each attribute, "+unit+"; below each its 95 % interval; hatched: no finding")
	p.Text("soft", left, 60, Start, trait)
	for k, name := range columns {
		p.Text("", left+(float64(k)+0.5)*wide, top-8, Middle, name)
	}
	span := 0.0
	for _, row := range cells {
		for _, cell := range row {
			span = max(span, 2*math.Abs(cell.Value))
		}
	}
	figures := told(span)
	for i, name := range rows {
		y := top + high*float64(i)
		p.Text("", left-10, y+high/2+5, End, name)
		for k, cell := range cells[i] {
			x := left + float64(k)*wide
			tip := fmt.Sprintf("%s at %s: %.3g (%.3g to %.3g), %s", name, columns[k], cell.Value, cell.Low, cell.High, cell.Says)
			strong := 0.0
			if full > 0 {
				strong = 0.65 * min(1, math.Abs(cell.Value)/full) * min(max(cell.Sure, 0), 1)
			}
			p.Link(cell.Link, func() {
				p.Group(look(cell.Kind), tip, func() {
					p.add(`<rect class="cell" x="%s" y="%s" width="%s" height="%s" opacity="%.2f"/>`, num(x), num(y), num(wide), num(high), max(strong, 0.03))
					if look(cell.Kind) == "unsure" {
						p.add(`<rect fill="url(#fl-hatch)" x="%s" y="%s" width="%s" height="%s" opacity=".45"/>`, num(x), num(y), num(wide), num(high))
					}
					p.Rect("frame", x, y, wide, high)
				})
				p.Text("head", x+wide/2, y+high/2-1, Middle, mark(cell.Kind)+figures.Signed(cell.Value))
				p.Text("soft", x+wide/2, y+high/2+15, Middle, figures.Number(cell.Low)+" to "+figures.Number(cell.High))
			})
		}
	}
	p.Text("soft", 14, height-16, Start, "▲ better   ▼ worse   = surely within the margin; colour is stronger where the effect is larger "+
		"and surer")
	return p
}

func mark(kind string) string {
	switch look(kind) {
	case "better":
		return "▲ "
	case "worse":
		return "▼ "
	case "same":
		return "= "
	}
	return ""
}
