package world

import (
	"testing"

	"fairlead/deploy/proof"
	"fairlead/processors/golf/fleet"
)

// A fitter who sees what the model can't gives more loft to those alone whom it suits;
// over all players it does nothing. What is chosen then speaks for it, and only what the
// lot gave can tell: the alarm has to ring in nine fleets of ten, and hardly ever where
// fitters choose blindly.
func TestTheLotTellsWhatWasChosenForThoseItSuits(t *testing.T) {
	fleets := uint64(10)
	if proof.Wanted() {
		fleets = 200
	}
	q := fleet.Question{Outcome: "direction", Attributes: Attributes, Traits: Traits}
	for _, c := range []struct {
		World
		least, most float64
	}{
		{World{Name: "loft for those it suits, a third by lot", Players: 300, Studios: 8, Flair: 0.12, Suited: true, Lot: 0.33}, 0.9, 1},
		{World{Name: "chosen blindly, a third by lot", Players: 300, Studios: 8, Flair: 0.12, Lot: 0.33}, 0, 0.1},
	} {
		rang, lots, chosen := 0.0, 0.0, 0.0
		for seed := range fleets {
			trials := c.Make(seed)
			a, err := fleet.Ask(t.Context(), trials, q)
			if err != nil {
				t.Fatal(err)
			}
			d, err := a.Choice(t.Context(), trials, q)
			if err != nil {
				t.Fatal(err)
			}
			if d.Fired {
				rang += 1 / float64(fleets)
			}
			lots += falsely(t, trials, q, fleet.ByLot) / float64(fleets)
			chosen += falsely(t, trials, q, fleet.ByChoice) / float64(fleets)
		}
		t.Logf("%s: alarm in %.2f of %d fleets; loft said to tighten by lot %.2f, by choice %.2f", c.Name, rang, fleets, lots, chosen)
		if rang < c.least || rang > c.most {
			t.Errorf("%s: the alarm rings in %.2f of fleets", c.Name, rang)
		}
		if limit := 0.05 + 3*0.07; lots > limit {
			t.Errorf("%s: by lot alone loft is said to tighten in %.2f of fleets", c.Name, lots)
		}
		if c.Suited && chosen < 0.5 {
			t.Errorf("%s: the choice does not mislead (%.2f of fleets): is the world as it should be?", c.Name, chosen)
		}
	}
	few := World{Players: 40, Studios: 2, Flair: 0.12, Suited: true}
	trials := few.Make(1)
	a, err := fleet.Ask(t.Context(), trials, q)
	if err != nil {
		t.Fatal(err)
	}
	if d, err := a.Choice(t.Context(), trials, q); err != nil || d.Fired || d.Text == "" {
		t.Errorf("without a lot: %+v, %v", d, err)
	}
	if h, ok := a.Hidden("length"); !ok || !(h > 0 && h < 1) {
		t.Errorf("a hidden reason of %v, %v", h, ok)
	}
}

// falsely is 1 where loft, which does nothing over all players, is said to tighten.
func falsely(t *testing.T, trials []fleet.Trial, q fleet.Question, keep func(*fleet.Trial) bool) float64 {
	t.Helper()
	var kept []fleet.Trial
	for i := range trials {
		if keep(&trials[i]) {
			kept = append(kept, trials[i])
		}
	}
	a, err := fleet.Ask(t.Context(), kept, q)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range a.Fit.Terms {
		if e.Name == "loft" && e.CIHigh < 0 {
			return 1
		}
	}
	return 0
}
