package planted

import (
	"context"
	"encoding/json"
	"math"
	"os"
	"testing"

	"fairlead/deploy/proof"
	"fairlead/processors/golf/fleet"
)

// scenario is one way in which fleets come about.
type scenario struct {
	name   string
	change func(*Options)
	// holds: intervals must cover. Where they need not, fires names the
	// diagnostic that must say so.
	holds bool
	fires string
}

var scenarios = []scenario{
	{"plain", func(*Options) {}, true, ""},
	{"order effects", func(o *Options) { o.Order = true }, true, "order"},
	{"selection by the fitter", func(o *Options) { o.Order, o.Selection = true, true }, true, "selection"},
	{"device bias between bays", func(o *Options) { o.Order, o.BayBias = true, true }, true, "bays"},
	{"heavy tails", func(o *Options) { o.Order, o.Tails = true, true }, true, "tails"},
	{"5 % mishits", func(o *Options) { o.Order, o.Mishits = true, 0.05 }, true, "tails"},
	{"instruction in mid-trial", func(o *Options) { o.Order, o.Instructed = true, true }, true, ""},
	{"left-handers", func(o *Options) { o.Order, o.Lefties = true, 0.3 }, true, ""},
	{standardModel, func(o *Options) {
		o.Order, o.Players = true, 160
		o.Attributes, o.Traits = fleet.AllAttributes(), fleet.StandardTraits
	}, true, ""},
}

// standardModel asks all 62 coefficients; its fleets are larger and fewer.
const standardModel = "the whole standard model"

// result is what a scenario came to.
type result struct {
	Scenario       string             `json:"scenario"`
	Fleets         int                `json:"fleets"`
	Coverage       float64            `json:"coverage"`
	SE             float64            `json:"coverage_se"`
	FalseDiscovery float64            `json:"false_discovery_rate"`
	FDRSE          float64            `json:"false_discovery_se"`
	Power          float64            `json:"power"`
	Diagnostic     string             `json:"diagnostic,omitempty"`
	Fired          float64            `json:"diagnostic_fired"` // share of fleets
	Alarms         map[string]float64 `json:"all_diagnostics"`  // share of fleets, by code
	Bias           float64            `json:"bias_in_se"`       // mean of (estimate − truth)/se over nonzero terms, signed by the truth
	Holds          bool               `json:"holds"`
}

// study runs one scenario.
func study(t *testing.T, sc scenario, fleets int, base Options) result {
	r := result{Scenario: sc.name, Fleets: fleets, Diagnostic: sc.fires, Holds: sc.holds, Alarms: map[string]float64{}}
	var cov, fdp []float64
	found, real, biasSum, biasN := 0.0, 0.0, 0.0, 0.0
	for i := range fleets {
		o := base
		o.Seed = uint64(1000 + i)
		sc.change(&o)
		trials, truth := Fleet(o)
		a, err := fleet.Ask(context.Background(), trials,
			fleet.Question{Outcome: "direction", Category: "driver", Attributes: o.Attributes, Traits: o.Traits, Test: fleet.KnappHartung})
		if err != nil {
			t.Fatalf("%s, fleet %d: %v", sc.name, i, err)
		}
		want := truth.In(a.Design)
		in, n := 0.0, 0.0
		var p []float64
		var null []bool
		for _, e := range a.Fit.Terms {
			w := want[e.Name]
			n++
			if e.CILow <= w && w <= e.CIHigh {
				in++
			}
			if planted := truth.Terms[e.Name]; planted != 0 {
				biasSum += (e.Value - w) / e.SE * sign(planted)
				biasN++
			}
			// The screen: interactions, whose true zero is zero under any centre.
			if isScreen(e.Name) {
				p = append(p, e.P)
				null = append(null, truth.Terms[e.Name] == 0)
			}
		}
		cov = append(cov, in/n)
		hits, wrong := 0.0, 0.0
		for k, q := range fleet.BenjaminiHochberg(p) {
			if !null[k] {
				real++
			}
			if q <= fleet.FalseDiscovery {
				hits++
				if null[k] {
					wrong++
				} else {
					found++
				}
			}
		}
		fdp = append(fdp, wrong/math.Max(hits, 1))
		for _, d := range a.Diagnose(trials) {
			if d.Fired {
				r.Alarms[d.Code] += 1 / float64(fleets)
			}
		}
	}
	r.Coverage, r.SE = meanSE(cov)
	r.FalseDiscovery, r.FDRSE = meanSE(fdp)
	r.Power = found / math.Max(real, 1)
	r.Fired = r.Alarms[sc.fires]
	r.Bias = biasSum / math.Max(biasN, 1)
	return r
}

func isScreen(name string) bool {
	for i := range name {
		if name[i] == ':' {
			return true
		}
	}
	return false
}

func sign(x float64) float64 {
	if x < 0 {
		return -1
	}
	return 1
}

func meanSE(x []float64) (mean, se float64) {
	for _, v := range x {
		mean += v / float64(len(x))
	}
	for _, v := range x {
		se += (v - mean) * (v - mean)
	}
	n := float64(len(x))
	return mean, math.Sqrt(se / (n - 1) / n)
}

// TestPlantedTruth holds intervals, discoveries and diagnostics against what
// was planted. With FAIRLEAD_PROVE=1 it runs 500 fleets a scenario and writes
// testdata/fleet/coverage.json.
func TestPlantedTruth(t *testing.T) {
	prove := proof.Wanted()
	fleets := 30
	if prove {
		fleets = 500
	}
	base := Options{Players: 80, Sessions: 2, Trials: 7, Shots: 10, Null: 0.5,
		Attributes: []fleet.Attribute{fleet.Length, fleet.Lie, fleet.ShaftWeight}, Traits: []string{"speed_mps", "path_deg"}}
	var all []result
	for _, sc := range scenarios {
		n := fleets
		if sc.name == standardModel && !prove {
			n = 8
		}
		r := study(t, sc, n, base)
		all = append(all, r)
		t.Logf("%-26s coverage %.4f ± %.4f, false discoveries %.3f ± %.3f, power %.2f, bias %+.2f se, %s fired in %.0f %%",
			r.Scenario, r.Coverage, r.SE, r.FalseDiscovery, r.FDRSE, r.Power, r.Bias, r.Diagnostic, 100*r.Fired)
		if sc.holds {
			if math.Abs(r.Coverage-0.95) > 3*r.SE {
				t.Errorf("%s: 95 %% intervals cover %.4f ± %.4f", r.Scenario, r.Coverage, r.SE)
			}
			if r.FalseDiscovery > fleet.FalseDiscovery+3*r.FDRSE {
				t.Errorf("%s: %.3f ± %.3f false discoveries at %.2f", r.Scenario, r.FalseDiscovery, r.FDRSE, fleet.FalseDiscovery)
			}
		}
		// Where intervals break, the diagnostic must say so; where they hold all
		// the same, it should mostly.
		least := 0.5
		if !sc.holds {
			least = 0.95
		}
		if sc.fires != "" && r.Fired < least {
			t.Errorf("%s: the diagnostic %q fired in %.0f %% of fleets", r.Scenario, sc.fires, 100*r.Fired)
		}
		if sc.name == "plain" {
			for _, code := range []string{"order", "selection", "bays", "tails", "clustered", "exclusion"} {
				if r.Alarms[code] > 0.1 {
					t.Errorf("the diagnostic %q fired in %.0f %% of plain fleets", code, 100*r.Alarms[code])
				}
			}
		}
	}
	if !prove {
		return
	}
	out, err := json.MarshalIndent(all, "", "  ")
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile("../../../../testdata/fleet/coverage.json", append(out, '\n'), 0o644); err != nil {
		t.Fatal(err)
	}
}
