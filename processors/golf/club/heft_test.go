package club

import (
	"errors"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"fairlead/deploy/proof"

	"pgregory.net/rapid"
)

const gram = 1e-3

// iron and driver are the middling clubs that the trade's rules are about.
var (
	iron   = Club{Length: 37 * Inch, HeadMass: 270 * gram, ShaftMass: 115 * gram, GripMass: 50 * gram}
	driver = Club{Length: 45 * Inch, HeadMass: 200 * gram, ShaftMass: 65 * gram, GripMass: 50 * gram}
)

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %.6g, want %.6g ± %g", what, got, want, tol)
	}
}

func TestGoldenHeft(t *testing.T) {
	text, err := os.ReadFile("../../../testdata/club/golden_heft.txt")
	if err != nil {
		t.Fatal(err)
	}
	clubs := map[string]Club{
		"driver": driver,
		"7i":     {Length: 37 * Inch, HeadMass: 270 * gram, ShaftMass: 115 * gram, ShaftBalance: 0.49, GripMass: 50 * gram},
		"wedge":  {Length: 35.5 * Inch, HeadMass: 300 * gram, ShaftMass: 120 * gram, GripMass: 48 * gram, GripCentre: 3.8 * Inch},
	}
	lines := strings.Split(strings.TrimSpace(string(text)), "\n")
	if len(lines) != len(clubs) {
		t.Fatalf("%d golden lines for %d clubs", len(lines), len(clubs))
	}
	for _, line := range lines {
		var name string
		var grams, balance, inoz, points, inertia float64
		if _, err := fmt.Sscan(line, &name, &grams, &balance, &inoz, &points, &inertia); err != nil {
			t.Fatalf("%q: %v", line, err)
		}
		h, err := clubs[name].Heft()
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		near(t, name+" mass g", h.Mass/gram, grams, 1e-3)
		near(t, name+" balance in", h.Balance/Inch, balance, 1e-5)
		near(t, name+" moment in·oz", h.Moment/InchOz, inoz, 1e-4)
		near(t, name+" points", float64(h.SwingWeight), points, 1e-4)
		near(t, name+" inertia g·cm²", h.Inertia*1e7, inertia, 1)
		again, err := MeasuredSwingWeight(h.Mass, h.Balance)
		if err != nil {
			t.Fatal(err)
		}
		near(t, name+" from mass and balance", float64(again), points, 1e-4)
	}
}

// The trade's rules of thumb, for the middle of the range between an iron and
// a driver: each is a rounded number, so the tolerance is that of a rule.
func TestTradeRules(t *testing.T) {
	for _, c := range []struct {
		rule   string
		change Change
		want   float64
	}{
		{"+2 g head is a point up", Change{Head: 2 * gram}, 1},
		{"+½ in is three points up", Change{Length: 0.5 * Inch}, 3},
		{"+5 g grip is a point down", Change{Grip: 5 * gram}, -1},
		{"+9 g shaft is a point up", Change{Shaft: 9 * gram}, 1},
	} {
		var sum float64
		for _, club := range []Club{iron, driver} {
			e, err := club.Effect(c.change)
			if err != nil {
				t.Fatal(err)
			}
			near(t, c.rule, e.Points, c.want, 0.2*math.Abs(c.want)+0.3)
			sum += e.Points / 2
		}
		near(t, c.rule+", on average", sum, c.want, 0.15*math.Abs(c.want))
	}
	// Grams of head a point: 49.6/(L−14), L in inches.
	for _, club := range []Club{iron, driver} {
		s, err := club.PerPoint()
		if err != nil {
			t.Fatal(err)
		}
		near(t, "head grams a point", s.Head/gram, 49.6/(club.Length/Inch-14), 0.01)
	}
}

func TestSwingWeightScale(t *testing.T) {
	near(t, "D0", SwingWeightOf(213.5*InchOz).Moment()/InchOz, 213.5, 1e-9)
	for _, c := range []struct {
		points SwingWeight
		text   string
	}{{30, "D0"}, {32.4, "D2.4"}, {29.96, "D0"}, {29.94, "C9.9"}, {0, "A0"}, {70, "G10"}, {61, "G1"}, {-3, "A0 less 3.0"},
		{71.24, "G10 plus 1.2"}} {
		if got := c.points.String(); got != c.text {
			t.Errorf("%v points read %q, want %q", float64(c.points), got, c.text)
		}
	}
	for _, bad := range []string{"", "2D", "H1", "D", "D11", "D10", "D-1", "Dx", "DNaN", "213"} {
		var in *InputError
		if got, err := ParseSwingWeight(bad); !errors.As(err, &in) {
			t.Errorf("ParseSwingWeight(%q) = %v, %v; want an InputError", bad, got, err)
		}
	}
	proof.Check(t, func(t *rapid.T) {
		s := SwingWeight(float64(rapid.IntRange(0, 700).Draw(t, "tenths")) / 10)
		back, err := ParseSwingWeight(s.String())
		if err != nil || math.Abs(float64(back-s)) > 1e-9 {
			t.Fatalf("%v is written %q and read %v, %v", float64(s), s, back, err)
		}
	})
}

func drawClub(t *rapid.T) Club {
	return Club{
		Length:   rapid.Float64Range(0.8, 1.2).Draw(t, "length"),
		HeadMass: rapid.Float64Range(0.18, 0.33).Draw(t, "head"), ShaftMass: rapid.Float64Range(0.04, 0.14).Draw(t, "shaft"),
		GripMass: rapid.Float64Range(0.02, 0.08).Draw(t, "grip"),
	}
}

func TestSolversHitWhatTheyPromise(t *testing.T) {
	proof.Check(t, func(t *rapid.T) {
		c := drawClub(t)
		h, err := c.Heft()
		if err != nil {
			t.Fatal(err)
		}
		want := h.SwingWeight + SwingWeight(rapid.Float64Range(-8, 8).Draw(t, "points"))
		if head, err := c.HeadFor(want); err == nil {
			d := c
			d.HeadMass = head
			after, err := d.Heft()
			if err != nil || math.Abs(float64(after.SwingWeight-want)) > 1e-6 {
				t.Fatalf("head %v gives %v, want %v (%v)", head, after.SwingWeight, want, err)
			}
		}
		if length, err := c.LengthFor(want); err == nil {
			e, err := c.Effect(Change{Length: length - c.Length})
			if err != nil || math.Abs(float64(e.After.SwingWeight-want)) > 1e-3 {
				t.Fatalf("length %v gives %v, want %v (%v)", length, e.After.SwingWeight, want, err)
			}
		} else {
			t.Fatalf("no length from 0.6 to 1.4 m for 8 points either way: %v", err)
		}
		inertia := h.Inertia * rapid.Float64Range(0.9, 1.1).Draw(t, "inertia")
		if head, err := c.HeadForInertia(inertia); err == nil {
			d := c
			d.HeadMass = head
			if after, err := d.Heft(); err != nil || math.Abs(after.Inertia-inertia) > 1e-9 {
				t.Fatalf("inertia %v, want %v (%v)", after.Inertia, inertia, err)
			}
		}
		s, err := c.PerPoint()
		if err != nil {
			t.Fatal(err)
		}
		e, err := c.Effect(Change{Length: s.Length / 1000})
		if err != nil || math.Abs(e.Points-1e-3) > 1e-5 {
			t.Fatalf("a thousandth of a point by length gives %v (%v)", e.Points, err)
		}
	})
}

func TestCounterweight(t *testing.T) {
	h, err := iron.Heft()
	if err != nil {
		t.Fatal(err)
	}
	mass, err := iron.CounterweightFor(h.SwingWeight-2, 0)
	if err != nil {
		t.Fatal(err)
	}
	e, err := iron.Effect(Change{Extra: []Weight{{mass, 0}}})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "points after the counterweight", e.Points, -2, 1e-9)
	if e.InertiaPct != 0 {
		t.Errorf("a weight at the butt changes the inertia about the butt by %v %%", e.InertiaPct)
	}
	if _, err := iron.CounterweightFor(h.SwingWeight+2, 0); err == nil {
		t.Error("a weight at the butt is said to raise swing weight")
	}
	if _, err := iron.CounterweightFor(h.SwingWeight+2, Fulcrum); err == nil {
		t.Error("a weight on the fulcrum is said to move the reading")
	}
}

func TestBadClubs(t *testing.T) {
	for name, c := range map[string]Club{
		"nothing":        {},
		"NaN":            {Length: math.NaN(), HeadMass: 0.2, ShaftMass: 0.06},
		"infinite":       {Length: 1, HeadMass: math.Inf(1), ShaftMass: 0.06},
		"negative shaft": {Length: 1, HeadMass: 0.2, ShaftMass: -0.06},
		"grams as kg":    {Length: 1, HeadMass: 200, ShaftMass: 0.06},
		"inches as m":    {Length: 45, HeadMass: 0.2, ShaftMass: 0.06},
		"long shaft":     {Length: 1, ShaftLength: 1.1, HeadMass: 0.2, ShaftMass: 0.06},
		"far weight":     {Length: 1, HeadMass: 0.2, ShaftMass: 0.06, Extra: []Weight{{0.01, 9}}},
	} {
		var in *InputError
		if h, err := c.Heft(); !errors.As(err, &in) {
			t.Errorf("%s: %+v, %v; want an InputError", name, h, err)
		} else if in.Try == "" || in.Reason == "" {
			t.Errorf("%s: %v does not say why and what to try", name, err)
		}
		if _, err := c.PerPoint(); err == nil {
			t.Errorf("%s: PerPoint takes it", name)
		}
	}
}
