package flight

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"
)

// A steady bay seldom alarms, a shifted one soon: both by simulation, with
// the learning phase simulated too.
func TestChartRunLengths(t *testing.T) {
	const bays, shots = 400, 1000
	random := rand.New(rand.NewPCG(4, 5))
	alarms, late := 0, 0
	var detection float64
	for range bays {
		c := NewChart(CarryOffset)
		for range c.Learn {
			if _, err := c.Add(1.5 + 1.2*random.NormFloat64()); err != nil {
				t.Fatal(err)
			}
		}
		shifted := c
		for range shots {
			if r, _ := c.Add(1.5 + 1.2*random.NormFloat64()); r.Status == Drifting {
				alarms++
				break
			}
		}
		seen := 0
		for i := 1; i <= 100 && seen == 0; i++ {
			if r, _ := shifted.Add(1.5 + 2*1.2 + 1.2*random.NormFloat64()); r.Status == Drifting {
				seen = i
			}
		}
		if seen == 0 {
			late++
		}
		detection += float64(seen) / bays
	}
	if share := float64(alarms) / bays; share > 0.15 {
		t.Errorf("%.0f %% of steady bays alarm within %d shots", 100*share, shots)
	}
	if late > 0 || detection > 11 {
		t.Errorf("a shift by two SD is missed in %d bays and takes %.1f shots", late, detection)
	}
	t.Logf("steady bays that alarm within %d shots: %d of %d; a shift by two SD takes %.1f shots", shots, alarms, bays, detection)
}

func TestChartSaysOffsetAndForgivesOddShots(t *testing.T) {
	c := NewChart(CarryOffset)
	for i := range c.Learn {
		r, _ := c.Add(9 + 0.5*math.Sin(float64(i)))
		if i < c.Learn-1 && r.Status != Learning {
			t.Fatalf("shot %d: %v", i, r)
		}
	}
	if r := c.Reading(); r.Status != Offset {
		t.Errorf("a bay that is 9 %% off from the start is called %v", r)
	}
	c = NewChart(CarryOffset)
	for i := range c.Learn {
		c.Add(0.5 * math.Sin(float64(i)))
	}
	if r, _ := c.Add(80); r.Status != Steady || c.Odd != 1 {
		t.Errorf("one odd shot: %v, %d odd", r, c.Odd)
	}
	before := c.Average
	if _, err := c.Add(math.NaN()); err == nil || c.Average != before {
		t.Error("NaN must be an error and change nothing")
	}
}

func TestConsistency(t *testing.T) {
	l, c := Launch{BallSpeed: 60, Angle: 14, SpinRate: 4000}, Standard()
	r, err := Simulate(l, c)
	if err != nil {
		t.Fatal(err)
	}
	carry, landing := r.Carry*1.02, r.LandingAngle-1
	got, err := Consistency(l, c, Landing{Carry: &carry, LandingAngle: &landing})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "carry", *got.Carry, 2, 1e-9)
	near(t, "landing", *got.Landing, -1, 1e-9)
	if got.Apex != nil {
		t.Error("an apex that was not measured has a residual")
	}
	bad := math.Inf(1)
	var input *InputError
	if _, err := Consistency(l, c, Landing{Apex: &bad}); !errors.As(err, &input) {
		t.Errorf("infinite apex: %v", err)
	}
	short, _ := Consistency(Launch{BallSpeed: 8, Angle: 20, SpinRate: 2000}, c, Landing{Carry: &carry})
	if short.Carry != nil {
		t.Error("a chip has a residual")
	}
}
