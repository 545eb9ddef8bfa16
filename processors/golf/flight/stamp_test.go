package flight

import (
	"encoding/json"
	"math"
	"os"
	"testing"
)

// Flights that are kept name their stamp, so no change may move them under the same one.
func TestAStampNamesItsFlights(t *testing.T) {
	const file = "../../../testdata/flight/stamps.json"
	type flown struct {
		Launch  Launch  `json:"launch"`
		Carry   float64 `json:"carry_m"`
		Offline float64 `json:"offline_m"`
		Apex    float64 `json:"apex_m"`
		Landing float64 `json:"landing_deg"`
	}
	b, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	stamps := map[string][]flown{}
	if err := json.Unmarshal(b, &stamps); err != nil {
		t.Fatal(err)
	}
	var is []flown
	for _, l := range []Launch{{74.5, 10.9, -1, 2690, 4}, {54, 16.1, 0.5, 7100, -3}, {38, 27, 0, 9900, 0},
		{25, 4, 2, 2000, 8}, {62, 14, 0, 400, 0}} {
		r, err := Simulate(l, Standard())
		if err != nil {
			t.Fatal(err)
		}
		is = append(is, flown{l, r.Carry, r.Offline, r.Apex, r.LandingAngle})
	}
	was := stamps[Stamp()]
	if os.Getenv("FAIRLEAD_GOLDEN") == "write" && was == nil {
		stamps[Stamp()] = is
		if b, err = json.MarshalIndent(stamps, "", " "); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(file, append(b, '\n'), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	if len(was) != len(is) {
		t.Fatalf("%s has no flights of stamp %s: if the model is meant to be another, record them with FAIRLEAD_GOLDEN=write", file, Stamp())
	}
	for i, w := range was {
		for _, d := range []float64{is[i].Carry - w.Carry, is[i].Offline - w.Offline, is[i].Apex - w.Apex, is[i].Landing - w.Landing} {
			if math.Abs(d) > 1e-6 || w.Launch != is[i].Launch {
				t.Errorf("the flight of %+v moved from %+v to %+v under one stamp: rows that are stored would be mixed", w.Launch, w, is[i])
				break
			}
		}
	}
}

// Each number that moves a flight moves the stamp.
func TestTheStampSeesEveryNumber(t *testing.T) {
	seen := map[string]bool{Stamp(): true}
	for i, change := range []func(*Conditions){
		func(c *Conditions) { c.Model.Drag[0] += 1e-6 }, func(c *Conditions) { c.Model.Drag[2] += 1e-6 },
		func(c *Conditions) { c.Model.Lift[1] += 1e-6 }, func(c *Conditions) { c.Model.LiftScale = 0.5 },
		func(c *Conditions) { c.Model.LiftPeak += 1e-6 }, func(c *Conditions) { c.Model.DragOfLift += 1e-6 },
		func(c *Conditions) { c.Model.SlowDrag += 1e-6 }, func(c *Conditions) { c.Model.SlowLift += 1e-6 },
		func(c *Conditions) { c.Model.SMin += 1e-6 }, func(c *Conditions) { c.Model.SMax += 1e-6 },
		func(c *Conditions) { c.Model.Name = "other" },
		func(c *Conditions) { c.Ball.Mass += 1e-6 }, func(c *Conditions) { c.Ball.Radius += 1e-6 },
	} {
		c := Standard()
		change(&c)
		if s := stampOf(c); seen[s] {
			t.Errorf("change %d has a stamp that another has: %s", i, s)
		} else {
			seen[s] = true
		}
	}
}
