package draw

import (
	"math"
	"strconv"

	"fairlead/dashboards/figure"
)

// Axis maps data from Low to High onto a picture from From to To.
type Axis struct{ Low, High, From, To float64 }

// At is where a value stands; values beyond the ends stand beyond them.
func (a Axis) At(v float64) float64 { return a.From + (v-a.Low)/(a.High-a.Low)*(a.To-a.From) }

// Held is At, kept within the ends.
func (a Axis) Held(v float64) float64 { return a.At(min(max(v, a.Low), a.High)) }

// Per is how long one unit of the data is in the picture.
func (a Axis) Per() float64 { return math.Abs((a.To - a.From) / (a.High - a.Low)) }

// Step is a round distance between ticks: 1, 2 or 5 times a power of ten, so
// that about n of them fit a span, or fewer. A span that is none has 1.
func Step(span float64, n int) float64 {
	raw := span / float64(max(n, 1))
	if !(raw > 0) || math.IsInf(raw, 0) {
		return 1
	}
	ten := math.Pow(10, math.Floor(math.Log10(raw)))
	for _, m := range []float64{1, 2, 5} {
		if m*ten >= raw {
			return m * ten
		}
	}
	return 10 * ten
}

// Ticks are round numbers over a range, about n of them; nil for no range.
func Ticks(low, high float64, n int) []float64 {
	if !(high > low) {
		return nil
	}
	return TicksBy(low, high, Step(high-low, n))
}

// TicksBy are the multiples of step over a range.
func TicksBy(low, high, step float64) (out []float64) {
	for i := math.Ceil(low/step - 1e-9); i*step <= high+1e-9*step; i++ {
		out = append(out, i*step+0)
	}
	return out
}

// Label writes a tick's value.
func Label(v float64) string { return strconv.FormatFloat(math.Round(v*1000)/1000+0, 'f', -1, 64) }

// textWidth is about how wide a text of the usual size is drawn, in the widest of the
// fonts that it may be drawn in.
func textWidth(text string) (w float64) {
	for _, r := range text {
		switch {
		case r == 'm' || r == 'w':
			w += 12.7
		case r == '.' || r == ',' || r == ' ' || r == '\u00a0':
			w += 4.2
		default:
			w += 8.4
		}
	}
	return w
}

// sideLabel writes how far beside the target line something is, in the axis' unit.
func sideLabel(v float64, u figure.Unit) string {
	switch {
	case v < -1e-9:
		return u.With(Label(-v)) + " L"
	case v > 1e-9:
		return u.With(Label(v)) + " R"
	}
	return "target"
}

// frame draws the lines and labels of both axes and their captions.
func (p *Picture) frame(x, y Axis, xTicks, yTicks []float64, xName, yName string) {
	bottom := max(y.From, y.To)
	for _, v := range xTicks {
		p.Line("grid", x.At(v), y.From, x.At(v), y.To)
		p.Text("tick", x.At(v), bottom+15, Middle, Label(v))
	}
	for _, v := range yTicks {
		p.Line("grid", x.From, y.At(v), x.To, y.At(v))
		p.Text("tick", x.From-6, y.At(v)+4, End, Label(v))
	}
	if xName != "" {
		p.Text("soft", (x.From+x.To)/2, bottom+32, Middle, xName)
	}
	if yName != "" {
		p.Turned("soft", x.From-40, (y.From+y.To)/2, yName)
	}
}

// told is how numbers of a span are written: with two digits of its tenth.
func told(span float64) figure.Unit {
	if !(span > 0) {
		return figure.In("", 1, 0)
	}
	return figure.In("", 1, min(max(1-int(math.Floor(math.Log10(span/5))), 0), 6))
}
