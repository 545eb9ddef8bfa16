package figure

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"fairlead/deploy/proof"
	"fairlead/ingest/contract/unit"

	"pgregory.net/rapid"
)

func TestFiguresReadAsPeopleWriteThem(t *testing.T) {
	m, deg := Units{}.Distance(), Unit{"°", 1, 1}
	for got, want := range map[string]string{
		m.Number(-0.04): "0.0", m.Number(-3.25): "−3.2", m.Short(12.0): "12", m.Short(120): "120", m.Signed(0): "0.0", m.Signed(2): "+2.0",
		m.SignedShort(2): "+2", m.SignedShort(-2): "−2", m.SignedShort(0.01): "0", deg.Text(31.5): "31.5°", m.Text(150): "150\u00a0m",
		Units{true}.Distance().Text(0.9144): "1\u00a0yd", Units{true}.Small().Text(0.0127): "0.5\u00a0in",
		Units{true}.Speed().Number(44.704): "100.0",
		Unit{"", 1, 0}.Text(20):            "20",
	} {
		if got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}

func TestAFigureIsNeverFurtherOffThanHalfADigit(t *testing.T) {
	proof.Check(t, func(t *rapid.T) {
		u := Unit{"m", rapid.SampledFrom([]float64{1, 1000, 1 / unit.Yard}).Draw(t, "factor"), rapid.IntRange(0, 3).Draw(t, "digits")}
		v := rapid.Float64Range(-1e4, 1e4).Draw(t, "value")
		for _, text := range []string{u.Number(v), u.Short(v), u.Signed(v), u.SignedShort(v)} {
			x, err := strconv.ParseFloat(strings.NewReplacer("−", "-", "+", "").Replace(text), 64)
			if err != nil || math.Abs(x-v*u.Factor) > 0.5*math.Pow(10, -float64(u.Digits))*(1+1e-9)+1e-9 {
				t.Fatalf("%v is written as %q", v*u.Factor, text)
			}
			if strings.Contains(text, "-") || x == 0 && strings.ContainsAny(text, "−+") {
				t.Fatalf("%v is written as %q", v, text)
			}
		}
	})
}
