package world

import (
	"encoding/json"
	"errors"
	"math"
	"os"
	"runtime"
	"sync"
	"testing"

	"fairlead/deploy/proof"
	"fairlead/processors/golf/fleet"
)

// passageRow is a row of testdata/fleet/passage.json.
type passageRow struct {
	World  string `json:"world"`
	Fleets int    `json:"fleets"`
	// Shares of the whole: the truth, and the mean of what was answered. Ways that the
	// figures do not hold are what is left.
	Truth map[string]float64 `json:"true_share"`
	Mean  map[string]float64 `json:"mean_share"`
	// Shares of fleets whose 95 % intervals of what goes on a way held the truth.
	Covered map[string]float64 `json:"coverage"`
	Holds   bool               `json:"holds"`
}

// What goes through the strike, through speed and through delivery, and what is left, is
// known in a fleet whose every shot was struck and delivered. Where a bad minute spoils
// everything at once, the strike gets the blame, and nothing in the rows can tell: that
// row stands in the table as broken. FAIRLEAD_PROVE=1 makes 200 fleets a
// world, 50 of the largest, FAIRLEAD_RECORD=1 writes the table.
func TestAnEffectIsTakenApart(t *testing.T) {
	fleets, worlds := 8, []Passage{
		{Name: "mostly through the strike", Players: 250, Strike: 0.14, Face: 0.02, Rest: 0.02, Speed: 0.5},
	}
	if proof.Wanted() {
		fleets = 200
		worlds = append(worlds, Passage{Name: "nothing through the strike", Players: 250, Face: 0.12, Rest: 0.1},
			Passage{Name: "mostly through the strike, 1,000 players", Players: 1000, Strike: 0.14, Face: 0.02, Rest: 0.02, Speed: 0.5},
			Passage{Name: "mostly through the strike, and bad minutes (sd .15)", Players: 250, Strike: 0.14, Face: 0.02, Rest: 0.02, Speed: 0.5,
				BadMinute: 0.15})
	}
	var table []passageRow
	for _, w := range worlds {
		n := fleets
		if w.Players > 500 {
			n = max(fleets/4, 1)
		}
		r := takenApart(t, w, n)
		t.Logf("%+v", r)
		table = append(table, r)
		if !r.Holds {
			continue
		}
		for way, share := range r.Covered {
			if slack := max(0.02, 3*math.Sqrt(0.05*0.95/float64(n))); share < 0.95-slack {
				t.Errorf("%s: intervals of %s held the truth in %.3f", w.Name, way, share)
			}
		}
		if got, want := r.Mean[fleet.ThroughStrike], r.Truth[fleet.ThroughStrike]; math.Abs(got-want) > 0.08 {
			t.Errorf("%s: %.2f through the strike on average, not %.2f", w.Name, got, want)
		}
	}
	// What is not measured is no way, and is said.
	trials := worlds[0].Make(1)
	q := fleet.Question{Outcome: "direction", Attributes: []fleet.Attribute{fleet.Length, fleet.Lie}}
	for i := range trials {
		trials[i].Impact.StrikeN = 0
	}
	p, err := fleet.ThroughWays(t.Context(), trials, q)
	if err != nil || len(p.Known) != 2 || len(p.Notes) == 0 {
		t.Errorf("without the strike: %+v, %v", p, err)
	}
	for i := range trials {
		trials[i].Impact = fleet.Impact{}
	}
	var m *fleet.ModelError
	if _, err = fleet.ThroughWays(t.Context(), trials, q); !errors.As(err, &m) || m.Kind != fleet.NotEnough {
		t.Errorf("without anything: %v", err)
	}
	q.Outcome = "carry"
	if _, err = fleet.ThroughWays(t.Context(), trials, q); !errors.As(err, &m) {
		t.Errorf("of a mean: %v", err)
	}
	if !proof.Wanted() || os.Getenv("FAIRLEAD_RECORD") != "1" {
		return
	}
	b, err := json.MarshalIndent(table, "", "  ")
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile("../../../../testdata/fleet/passage.json", append(b, '\n'), 0o644); err != nil {
		t.Fatal(err)
	}
}

func takenApart(t *testing.T, w Passage, fleets int) passageRow {
	t.Helper()
	whole, ways := w.Truth()
	left := whole
	for _, x := range ways {
		left -= x
	}
	truth := map[string]float64{"whole": whole, "left": left}
	r := passageRow{World: w.Name, Fleets: fleets, Truth: map[string]float64{"left": left / whole}, Mean: map[string]float64{},
		Covered: map[string]float64{}, Holds: w.BadMinute == 0}
	for way, x := range ways {
		truth[way], r.Truth[way] = x, x/whole
	}
	var lock sync.Mutex
	var wg sync.WaitGroup
	slots := make(chan struct{}, runtime.GOMAXPROCS(0))
	for seed := range fleets {
		wg.Go(func() {
			slots <- struct{}{}
			defer func() { <-slots }()
			q := fleet.Question{Outcome: "direction", Attributes: []fleet.Attribute{fleet.Length, fleet.Lie}, Workers: 1}
			p, err := fleet.ThroughWays(t.Context(), w.Make(uint64(seed)), q)
			if err != nil {
				t.Error(err)
				return
			}
			lock.Lock()
			defer lock.Unlock()
			for _, x := range p.Through {
				if x.Attribute != fleet.Length.Name() {
					continue
				}
				parts := map[string]fleet.Part{"whole": x.Whole, "left": x.Left}
				for way, part := range x.Ways {
					parts[way] = part
				}
				for way, part := range parts {
					if part.Low <= truth[way] && truth[way] <= part.High {
						r.Covered[way] += 1 / float64(fleets)
					}
					if part.Share != nil {
						r.Mean[way] += *part.Share / float64(fleets)
					}
				}
			}
		})
	}
	wg.Wait()
	for _, m := range []map[string]float64{r.Truth, r.Mean, r.Covered} {
		for k, x := range m {
			m[k] = math.Round(1e4*x) / 1e4
		}
	}
	return r
}
