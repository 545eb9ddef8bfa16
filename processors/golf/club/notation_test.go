package club

import (
	"math"
	"testing"

	"fairlead/ingest/contract/unit"
)

// Notations as fitters write them, in the stored unit.
func TestNotations(t *testing.T) {
	was := func(v float64) *float64 { return &v }
	length := Figure{Name: "length", Quantity: unit.Length, Min: 0.5, Max: 1.4, Was: was(37 * Inch)}
	imperial := length
	imperial.Prefer = "in"
	metric := length
	metric.Prefer = "mm"
	trim := Figure{Name: "tip_trim", Quantity: unit.Length, Min: 0, Max: 0.3, Prefer: "in", Was: was(0)}
	grip := Figure{Name: "grip_size", Quantity: unit.Length, Min: 0.005, Max: 0.06, Was: was(0.6 * Inch)}
	lie := Figure{Name: "lie", Quantity: unit.Angle, Min: 45, Max: 85, Was: was(62)}
	loft := Figure{Name: "loft", Quantity: unit.Angle, Min: -5, Max: 80, Was: was(31)}
	face := Figure{Name: "face_angle", Quantity: unit.Angle, Min: -10, Max: 10, Was: was(0.5)}
	shaft := Figure{Name: "shaft_weight", Quantity: unit.Mass, Min: 0.02, Max: 0.2, Was: was(0.065)}
	head := Figure{Name: "head_weight", Quantity: unit.Mass, Min: 0.1, Max: 0.6, Prefer: "g", Was: was(0.2)}
	swing := Figure{Name: "swing_weight", Quantity: unit.Moment, Min: 0.05, Max: 0.35, Was: was(SwingWeight(2).Moment())}
	beat := Figure{Name: "frequency", Quantity: unit.Frequency, Min: 100, Max: 500, Was: was(255)}
	wraps := Figure{Name: "grip_wraps", Quantity: unit.Ratio, Min: 0, Max: 20, Was: was(1)}
	d := func(text string) float64 {
		w, err := ParseSwingWeight(text)
		if err != nil {
			t.Fatal(err)
		}
		return w.Moment()
	}
	swing.Was = was(d("D2"))
	for _, c := range []struct {
		text string
		f    Figure
		want float64
	}{
		{"37.5in", length, 0.9525}, {"37.5 in", length, 0.9525}, {"37,5 in", length, 0.9525}, {`37.5"`, length, 0.9525}, {"37.5″", length, 0.9525},
		{"37.5”", length, 0.9525}, {"37.5''", length, 0.9525}, {"37.5 inches", length, 0.9525}, {"37 1/2", length, 0.9525},
		{"37-1/2", length, 0.9525},
		{"37 1/2in", length, 0.9525}, {`37 1/2"`, length, 0.9525}, {"37½", length, 0.9525}, {"37½ in", length, 0.9525}, {"37½\"", length, 0.9525},
		{"37 ½ in", length, 0.9525}, {"36¾", length, 36.75 * Inch}, {"36 ¼ in", length, 36.25 * Inch}, {"38⅛", length, 38.125 * Inch},
		{"37 3/8 in", length, 37.375 * Inch}, {"37.5", length, 0.9525}, {"37,5", length, 0.9525}, {"37.5", imperial, 0.9525},
		{"37.5", metric, 0.9525},
		{"952.5mm", length, 0.9525}, {"952,5 mm", length, 0.9525}, {"952.5", length, 0.9525}, {"952.5", metric, 0.9525},
		{"95.25cm", length, 0.9525},
		{"95,25 cm", length, 0.9525}, {"0.9525", length, 0.9525}, {"0,9525 m", length, 0.9525}, {"0.9525m", length, 0.9525},
		{".9525", length, 0.9525},
		{"+1/2", length, 0.9525}, {"+ 1/2", length, 0.9525}, {"+½", length, 0.9525}, {"+1/2 in", length, 0.9525}, {`+1/2"`, length, 0.9525},
		{"+0.5", length, 0.9525}, {"+.5in", length, 0.9525}, {"-1/2", length, 36.5 * Inch}, {"−½", length, 36.5 * Inch},
		{"+1", length, 38 * Inch},
		{"1/2 over", length, 0.9525}, {"½ over", length, 0.9525}, {"1/2in over", length, 0.9525}, {"1/4 under", length, 36.75 * Inch},
		{"1 short", length, 36 * Inch}, {"1/2 long", length, 0.9525}, {"+1/2", imperial, 0.9525}, {"+1/2", metric, 0.9525},
		{"+12.5mm", length, 37*Inch + 0.0125}, {"+12.5", metric, 37*Inch + 0.0125}, {"+1 cm", length, 37*Inch + 0.01},
		{"1/2", trim, 0.0127}, {"½", trim, 0.0127}, {"1", trim, 0.0254}, {"0", trim, 0}, {"12mm", trim, 0.012}, {"1 1/4", trim, 1.25 * Inch},
		{"+1/2", trim, 0.0127},
		{"0.58in", grip, 0.58 * Inch}, {"0.58", grip, 0.58 * Inch}, {"15", grip, 0.015}, {"15mm", grip, 0.015},
		{"+1/64", grip, 0.6*Inch + Inch/64},
		{"62", lie, 62}, {"62°", lie, 62}, {"62.5°", lie, 62.5}, {"62,5", lie, 62.5}, {"62½", lie, 62.5}, {"62 deg", lie, 62},
		{"62 degrees", lie, 62},
		{"2 up", lie, 64}, {"2° up", lie, 64}, {"2°up", lie, 64}, {"1 flat", lie, 61}, {"1° flat", lie, 61}, {"1/2 flat", lie, 61.5},
		{"½° upright", lie, 62.5},
		{"2 deg up", lie, 64}, {"+1", lie, 63}, {"-1", lie, 61}, {"+1.5°", lie, 63.5}, {"2 upright", lie, 64},
		{"31", loft, 31}, {"-1", loft, 30}, {"-1", Figure{Name: "loft", Quantity: unit.Angle, Min: -5, Max: 80, Was: was(3)}, -1},
		{"1 weak", loft, 32}, {"2 strong", loft, 29}, {"1° stronger", loft, 30}, {"+1", loft, 32}, {"31,5°", loft, 31.5},
		{"-2", face, -2}, {"-1.5°", face, -1.5}, {"1 open", face, 1.5}, {"2 closed", face, -1.5}, {"+1", face, 1.5},
		{"65g", shaft, 0.065}, {"65 g", shaft, 0.065}, {"65", shaft, 0.065}, {"65 grams", shaft, 0.065}, {"0.065", shaft, 0.065},
		{"2.3oz", shaft, 2.3 * 0.028349523125},
		{"+2g", shaft, 0.067}, {"+2", shaft, 0.067}, {"-5", shaft, 0.06}, {"5g lighter", shaft, 0.06}, {"200", head, 0.2}, {"0,2 kg", head, 0.2},
		{"7 oz", head, 7 * 0.028349523125},
		{"+2", head, 0.202}, {"4 heavier", head, 0.204},
		{"D2", swing, d("D2")}, {"d2", swing, d("D2")}, {"D 2", swing, d("D2")}, {"D2.5", swing, d("D2.5")}, {"D2½", swing, d("D2.5")},
		{"C9", swing, d("C9")},
		{"+1", swing, d("D3")}, {"-2", swing, d("D0")}, {"+1 point", swing, d("D3")}, {"+2 pts", swing, d("D4")}, {"213.5 in·oz", swing, d("D0")},
		{"213.5", swing, d("D0")},
		{"255", beat, 255}, {"255 cpm", beat, 255}, {"4.25Hz", beat, 255}, {"4.25", beat, 255}, {"+3", beat, 258}, {"2", wraps, 2},
		{"+1", wraps, 2},
	} {
		got, err := ParseFigure(c.text, c.f)
		if err != nil || math.Abs(got-c.want) > 1e-7*math.Max(1, math.Abs(c.want)) {
			t.Errorf("%s %q: %v %v, want %v", c.f.Name, c.text, got, err, c.want)
		}
	}
	blank := length
	blank.Was = nil
	for _, c := range []struct {
		text string
		f    Figure
	}{{"", length}, {"long", length}, {"+1/2", blank}, {"37.5kg", length}, {"37 parsecs", length}, {"2 sideways", lie}, {"1/0", length},
		{"D2", length}, {"+", length}, {"NaN", length}, {"Inf", lie}, {"up", lie}} {
		if got, err := ParseFigure(c.text, c.f); err == nil {
			t.Errorf("%s %q is taken as %v", c.f.Name, c.text, got)
		}
	}
}
