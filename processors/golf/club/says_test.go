package club

import (
	"math"
	"testing"

	"fairlead/ingest/contract/unit"
)

func TestChangesInTheTradesWords(t *testing.T) {
	d2, _ := ParseSwingWeight("D2")
	was := d2.Moment()
	for _, c := range []struct {
		name   string
		q      unit.Quantity
		change float64
		want   string
	}{
		{"length", unit.Length, 0.0127, "½ in longer"}, {"length", unit.Length, -0.0127, "½ in shorter"},
		{"length", unit.Length, 1.25 * Inch, "1¼ in longer"},
		{"length", unit.Length, -Inch, "1 in shorter"}, {"length", unit.Length, 0.010, "10 mm longer"},
		{"grip_size", unit.Length, Inch / 64, "1/64 in thicker grip"},
		{"grip_size", unit.Length, 65 * Inch / 64, "1 1/64 in thicker grip"}, {"lie", unit.Angle, 2, "2° up"}, {"lie", unit.Angle, -1, "1° flat"},
		{"loft", unit.Angle, 1, "1° weaker"}, {"loft", unit.Angle, -1.5, "1.5° stronger"}, {"head_weight", unit.Mass, -0.006, "6 g lighter head"},
		{"swing_weight", unit.Moment, (d2 + 2).Moment() - was, "2 points up in swing weight"},
		{"swing_weight", unit.Moment, (d2 - 1).Moment() - was, "1 point down in swing weight"},
		{"frequency", unit.Frequency, -4, "4 cpm softer"}, {"grip_wraps", unit.Ratio, 1, "1 more grip wraps"},
		{"toe_hang", unit.Angle, 5, "5° more"},
	} {
		if got := (Figure{Name: c.name, Quantity: c.q, Was: &was}).Change(c.change); got != c.want {
			t.Errorf("%s %v: %q, want %q", c.name, c.change, got, c.want)
		}
	}
}

// A step of the trade, written as the steppers write it, is read as that step.
func TestStepsAreRead(t *testing.T) {
	for _, c := range []struct {
		f    Figure
		was  float64
		text string
		want float64
	}{
		{Figure{Name: "length", Quantity: unit.Length, Min: 0.5, Max: 1.4, Prefer: "mm"}, 0.94, "+1 1/2 in", 0.94 + 1.5*Inch},
		{Figure{Name: "grip_size", Quantity: unit.Length, Min: 0.005, Max: 0.06, Prefer: "mm"}, 0.6 * Inch, "-1/64 in", 0.6*Inch - Inch/64},
		{Figure{Name: "lie", Quantity: unit.Angle, Min: 45, Max: 85, Prefer: "°"}, 62, "-1 °", 61},
		{Figure{Name: "shaft_weight", Quantity: unit.Mass, Min: 0.02, Max: 0.2, Prefer: "g"}, 0.065, "+4 g", 0.069},
		{Figure{Name: "swing_weight", Quantity: unit.Moment, Min: 0.05, Max: 0.35, Prefer: "in·oz"}, SwingWeight(2).Moment(), "+1 points",
			SwingWeight(3).Moment()},
		{Figure{Name: "frequency", Quantity: unit.Frequency, Min: 100, Max: 500, Prefer: "cpm"}, 255, "+2 cpm", 257},
		{Figure{Name: "grip_wraps", Quantity: unit.Ratio, Min: 0, Max: 20}, 1, "+1", 2},
		{Figure{Name: "grip_size", Quantity: unit.Length, Min: 0.005, Max: 0.06, Prefer: "mm"}, 0, "midsize", 0.6*Inch + Inch/16},
		{Figure{Name: "grip_size", Quantity: unit.Length, Min: 0.005, Max: 0.06, Prefer: "mm"}, 0, "Mid-size", 0.6*Inch + Inch/16},
		{Figure{Name: "grip_size", Quantity: unit.Length, Min: 0.005, Max: 0.06, Prefer: "mm"}, 0, "standard", 0.6 * Inch},
	} {
		c.f.Was = &c.was
		got, relative, err := ReadFigure(c.text, c.f)
		if err != nil || math.Abs(got-c.want) > 1e-8 || relative != (c.text[0] == '+' || c.text[0] == '-') {
			t.Errorf("%s %q: %v %v %v, want %v", c.f.Name, c.text, got, relative, err, c.want)
		}
	}
}
