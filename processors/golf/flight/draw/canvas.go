package draw

import (
	"fairlead/ingest/contract/unit"
	"fmt"
	"html"
	"io"
	"math"
	"strconv"
	"strings"
)

// Units says in which units a picture is labelled; the data are SI always.
type Units struct {
	Length     float64 // m per shown unit
	LengthName string
}

// Metric labels lengths in metres, Yards in yards.
var (
	Metric = Units{1, "m"}
	Yards  = Units{unit.Yard, "yd"}
)

// The colours: one ink on white, and hues that differ in lightness too, so that
// they stay apart in grey and for eyes that mix red with green.
const (
	ink    = "#22313a"
	faint  = "#c9d2d6"
	ground = "#7b8f6a"
)

var hues = [...]string{"#0b5d8f", "#c8602b", "#5b8c3e", "#8a4f9e", "#b58a1b", "#3aa0a0"}

// canvas collects an SVG.
type canvas struct {
	b             strings.Builder
	width, height float64
}

func newCanvas(width, height float64, title, description string) *canvas {
	c := &canvas{width: width, height: height}
	c.put(`<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %s %s" width="%s" height="%s" role="img" font-family="sans-serif" font-size="12" fill="%s">`,
		num(width), num(height), num(width), num(height), ink)
	c.put(`<title>%s</title><desc>%s</desc>`, html.EscapeString(title), html.EscapeString(description))
	c.put(`<rect width="%s" height="%s" fill="#ffffff"/>`, num(width), num(height))
	return c
}

func (c *canvas) put(format string, args ...any) {
	fmt.Fprintf(&c.b, format, args...)
	c.b.WriteByte('\n')
}

func (c *canvas) line(x1, y1, x2, y2 float64, colour string, width float64, more string) {
	c.put(`<line x1="%s" y1="%s" x2="%s" y2="%s" stroke="%s" stroke-width="%s" %s/>`, num(x1), num(y1), num(x2), num(y2), colour, num(width), more)
}

// text writes a string; anchor is start, middle or end.
func (c *canvas) text(x, y float64, anchor, s, more string) {
	c.put(`<text x="%s" y="%s" text-anchor="%s" %s>%s</text>`, num(x), num(y), anchor, more, html.EscapeString(s))
}

func (c *canvas) flush(w io.Writer) error {
	c.b.WriteString("</svg>\n")
	_, err := io.WriteString(w, c.b.String())
	return err
}

// num writes a coordinate with two decimals at most.
func num(v float64) string {
	return strconv.FormatFloat(math.Round(v*100)/100+0, 'f', -1, 64)
}

// axis maps data to pixels along one direction.
type axis struct{ low, high, from, to float64 }

func (a axis) at(v float64) float64 { return a.from + (v-a.low)/(a.high-a.low)*(a.to-a.from) }

// ticks are round numbers over a range, about n of them.
func ticks(low, high float64, n int) []float64 {
	raw := (high - low) / float64(n)
	if !(raw > 0) {
		return nil
	}
	step := math.Pow(10, math.Floor(math.Log10(raw)))
	for _, f := range []float64{1, 2, 5, 10} {
		if step*f >= raw {
			step *= f
			break
		}
	}
	var out []float64
	for i := math.Ceil(low/step - 1e-9); i*step <= high+1e-9*step; i++ {
		out = append(out, i*step+0)
	}
	return out
}

// label writes a tick's value.
func label(v float64) string { return strconv.FormatFloat(math.Round(v*1000)/1000+0, 'f', -1, 64) }

// frame draws the tick lines and labels of a plot and its two captions.
func (c *canvas) frame(x, y axis, xTicks, yTicks []float64, xName, yName string) {
	for _, v := range xTicks {
		c.line(x.at(v), y.from, x.at(v), y.to, faint, 0.7, "")
		c.text(x.at(v), math.Max(y.from, y.to)+15, "middle", label(v), "")
	}
	for _, v := range yTicks {
		c.line(x.from, y.at(v), x.to, y.at(v), faint, 0.7, "")
		c.text(x.from-6, y.at(v)+4, "end", label(v), "")
	}
	c.text((x.from+x.to)/2, math.Max(y.from, y.to)+32, "middle", xName, "")
	mid := (y.from + y.to) / 2
	c.text(x.from-40, mid, "middle", yName, fmt.Sprintf(`transform="rotate(-90 %s %s)"`, num(x.from-40), num(mid)))
}
