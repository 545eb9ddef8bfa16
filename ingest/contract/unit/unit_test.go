package unit

import (
	"math"
	"strings"
	"testing"
)

func TestParse(t *testing.T) {
	for _, c := range []struct {
		q    Quantity
		in   string
		want float64
	}{
		{Speed, "156mph", 69.73824}, {Speed, "70", 70}, {Speed, "252 km/h", 70}, {Speed, "70m/s", 70},
		{Length, "40.5yd", 37.0332}, {Length, "1.5in", 0.0381}, {Length, "-2mm", -0.002}, {Length, "1e2mm", 0.1},
		{Angle, "12deg", 12}, {Angle, "-1.5°", -1.5}, {Rotation, "2700rpm", 2700}, {Rotation, "45rps", 2700},
		{Mass, "200g", 0.2}, {Temperature, "68F", 20}, {Temperature, "293.15K", 20}, {Inertia, "5000gcm2", 5e-4},
		{Ratio, "83%", 0.83}, {Ratio, "0.83", 0.83},
	} {
		got, err := Parse(c.q, c.in)
		if err != nil || math.Abs(got-c.want) > 1e-9*math.Max(1, math.Abs(c.want)) {
			t.Errorf("Parse(%s, %q) = %v, %v; want %v", c.q, c.in, got, err, c.want)
		}
	}
}

func TestParseRefuses(t *testing.T) {
	for _, c := range []struct {
		q        Quantity
		in, hint string
	}{
		{Speed, "fast", "70m/s"}, {Speed, "12deg", "m/s"}, {Length, "", "number"}, {Length, "NaN", "finite"},
		{Length, "inf", "finite"}, {Angle, "3 yd", "deg"},
	} {
		if _, err := Parse(c.q, c.in); err == nil || !strings.Contains(err.Error(), c.hint) {
			t.Errorf("Parse(%s, %q): error %v does not say %q", c.q, c.in, err, c.hint)
		}
	}
}

func TestEveryUnitReturns(t *testing.T) {
	for q := range units {
		for _, name := range Names(q) {
			c, err := Lookup(q, name)
			if err != nil {
				t.Fatal(err)
			}
			if got := c.From(c.To(12.5)); math.Abs(got-12.5) > 1e-9 {
				t.Errorf("%s %q: 12.5 returns as %v", q, name, got)
			}
		}
		if c, err := Lookup(q, Stored(q)); err != nil || c.To(1) != 1 {
			t.Errorf("%s: stored unit %q is not the identity", q, Stored(q))
		}
	}
}
