package world

import (
	"encoding/json"
	"math"
	"os"
	"slices"
	"testing"

	"fairlead/deploy/proof"
	"fairlead/processors/golf/fleet"
)

// choiceRow is a row of testdata/fleet/choice.json: shares of fleets. Loft does nothing
// over all players; to say that it tightens is false.
type choiceRow struct {
	World  string  `json:"world"`
	Fleets int     `json:"fleets"`
	Alarm  float64 `json:"alarm"`
	// Falsely a finding before what was drawn counted for itself, and now.
	FalseBefore float64 `json:"false_finding_before"`
	FalseNow    float64 `json:"false_finding_now"`
	// Intervals of 95 % that held what a step does over all players, of all attributes.
	Covered float64 `json:"coverage"`
	// How often length, which widens by 6 %, stays a finding.
	Power float64 `json:"true_finding"`
	// Median share of what is left open that a hidden reason would have to account for to
	// explain loft away.
	Hidden float64 `json:"hidden_reason"`
}

// A fitter who sees what the model can't gives more loft to those alone whom it suits;
// over all players it does nothing. What is chosen then speaks for it, and only what the
// lot gave can tell: the alarm has to ring in nine fleets of ten, what is said is false
// in one of twenty at most, and where fitters choose blindly the alarm hardly rings.
// FAIRLEAD_PROVE=1 makes 200 fleets a world, 50 of the largest, FAIRLEAD_RECORD=1 writes
// the table.
func TestTheLotTellsWhatWasChosenForThoseItSuits(t *testing.T) {
	fleets := uint64(10)
	if proof.Wanted() {
		fleets = 200
	}
	q := fleet.Question{Outcome: "direction", Attributes: Attributes, Traits: Traits}
	var table []choiceRow
	type row struct {
		World
		least, most float64
	}
	worlds := []row{
		{World{Name: "loft for those it suits, a third by lot", Players: 300, Studios: 8, Flair: 0.12, Suited: true, Lot: 0.33}, 0.9, 1},
		{World{Name: "chosen blindly, a third by lot", Players: 300, Studios: 8, Lot: 0.33}, 0, 0.1},
	}
	if proof.Wanted() {
		worlds = append(worlds, row{World{Name: "loft for those it suits, a tenth by lot", Players: 1000, Studios: 8, Flair: 0.12, Suited: true,
			Lot: 0.1}, 0.9, 1})
	}
	most := fleets
	for _, c := range worlds {
		if fleets = most; c.Players > 500 {
			fleets = most / 4
		}
		r := choiceRow{World: c.Name, Fleets: int(fleets)}
		one, steps, hidden := 1/float64(fleets), 0.0, []float64{}
		for seed := range fleets {
			trials := c.Make(seed)
			a, err := fleet.Ask(t.Context(), trials, q)
			if err != nil {
				t.Fatal(err)
			}
			r.FalseBefore += one * said(t, a, "loft", fleet.WayBetter)
			d, err := a.Choice(t.Context(), trials)
			if err != nil {
				t.Fatal(err)
			}
			if d.Fired {
				r.Alarm += one
			}
			r.FalseNow += one * said(t, a, "loft", fleet.WayBetter)
			r.Power += one * said(t, a, "length", fleet.WayWorse)
			for _, e := range effects(t, a) {
				truth, ok := Truth(a.Design, e.Term)
				if !ok || e.Choice == nil {
					continue
				}
				steps++
				if e.Low <= truth && truth <= e.High {
					r.Covered++
				}
				if e.Term == "loft" {
					hidden = append(hidden, *e.Hidden)
				}
				if got := e.Choice; got.Differs != e.ByLot || math.Abs(got.Difference-(got.Lot.Change-got.Chosen.Change)) > 1e-12 ||
					e.ByLot && math.Abs(e.Change-got.Lot.Change) > 1e-9 {
					t.Fatalf("%s: %+v says %+v", e.Term, e, *got)
				}
			}
		}
		r.Covered /= steps
		for _, x := range []*float64{&r.Alarm, &r.FalseBefore, &r.FalseNow, &r.Covered, &r.Power} {
			*x = math.Round(1e4**x) / 1e4
		}
		r.Hidden = median(hidden)
		t.Logf("%+v", r)
		table = append(table, r)
		if r.Alarm < c.least || r.Alarm > c.most {
			t.Errorf("%s: the alarm rings in %.2f of fleets", c.Name, r.Alarm)
		}
		slack := 3 * math.Sqrt(0.05*0.95*one)
		if r.FalseNow > 0.05+slack {
			t.Errorf("%s: loft is said to tighten in %.2f of fleets", c.Name, r.FalseNow)
		}
		if r.Covered < 0.95-max(0.02, slack/math.Sqrt(3)) {
			t.Errorf("%s: intervals held the truth in %.3f", c.Name, r.Covered)
		}
		if r.Power < 0.9 {
			t.Errorf("%s: what length does is a finding in %.2f of fleets", c.Name, r.Power)
		}
		if c.Suited && r.FalseBefore < 0.5 {
			t.Errorf("%s: the choice does not mislead (%.2f of fleets): is the world as it should be?", c.Name, r.FalseBefore)
		}
	}
	few := World{Players: 40, Studios: 2, Flair: 0.12, Suited: true}
	trials := few.Make(1)
	a, err := fleet.Ask(t.Context(), trials, q)
	if err != nil {
		t.Fatal(err)
	}
	if d, err := a.Choice(t.Context(), trials); err != nil || d.Fired || d.Text == "" || a.Choices != nil {
		t.Errorf("without a lot: %+v, %v", d, err)
	}
	for _, e := range effects(t, a) {
		if e.Attribute != "" && e.Trait == "" && (e.Hidden == nil || !(*e.Hidden > 0 && *e.Hidden < 1) || e.Choice != nil || e.ByLot) {
			t.Errorf("without a lot: %+v", e)
		}
	}
	if !proof.Wanted() || os.Getenv("FAIRLEAD_RECORD") != "1" {
		return
	}
	b, err := json.MarshalIndent(table, "", "  ")
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile("../../../../testdata/fleet/choice.json", append(b, '\n'), 0o644); err != nil {
		t.Fatal(err)
	}
}

func effects(t *testing.T, a *fleet.Answer) []fleet.Effect {
	t.Helper()
	out, err := a.Effects(fleet.Person{})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// said is 1 where an attribute's step is a finding that goes the way.
func said(t *testing.T, a *fleet.Answer, attribute, way string) float64 {
	t.Helper()
	for _, e := range effects(t, a) {
		if e.Term == attribute && e.Evidence == fleet.Finding && e.Way == way {
			return 1
		}
	}
	return 0
}

func median(x []float64) float64 {
	slices.Sort(x)
	return math.Round(1e4*x[len(x)/2]) / 1e4
}
