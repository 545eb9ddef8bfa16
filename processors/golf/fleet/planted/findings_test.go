package planted

import (
	"encoding/json"
	"math"
	"os"
	"testing"

	"fairlead/deploy/proof"
	"fairlead/processors/golf/fleet"
)

// screening is how answers speak of what was planted, over many fleets.
type screening struct {
	Fleets  int `json:"fleets"`
	Players int `json:"players_a_fleet"`
	// Of planted dependences on the swing: how many there were, how many had p
	// below .05, how many of those are said (a finding or a hint), as a finding.
	Planted  int `json:"planted_dependences"`
	Seen     int `json:"with_p_below_05"`
	Said     int `json:"said"`
	Found    int `json:"said_as_finding"`
	FoundAny int `json:"planted_found"`
	// Of all dependences that were called findings, the false ones: their mean
	// share over fleets is the false-discovery rate, which is promised to be at
	// most Promised.
	False    int     `json:"false_findings"`
	Rate     float64 `json:"false_discovery_rate"`
	SE       float64 `json:"false_discovery_se"`
	Promised float64 `json:"promised"`
	// WayWrong are planted dependences found whose high end is on the wrong side
	// of the low end.
	WayWrong int `json:"way_wrong"`
	// WithinWrong are spans said to be within the margin that lie beyond it, of
	// Within said so; BeyondWrong and Beyond the reverse. Both are tests at 5 %.
	Within      int `json:"within"`
	WithinWrong int `json:"within_wrong"`
	Beyond      int `json:"beyond"`
	BeyondWrong int `json:"beyond_wrong"`
}

func screenFleets(t *testing.T, fleets, players int) screening {
	s := screening{Fleets: fleets, Players: players, Promised: fleet.FalseDiscovery}
	var shares []float64
	for i := range fleets {
		o := Options{Players: players, Sessions: 2, Trials: 6, Shots: 10, Seed: uint64(50_000 + i), Null: 0.6, Order: true,
			Attributes: []fleet.Attribute{fleet.Length, fleet.Loft, fleet.ShaftWeight, fleet.Flex},
			Traits:     []string{"speed_mps", "attack_deg", "path_deg", "dynamic_loft_deg"}}
		trials, truth := Fleet(o)
		a, err := fleet.Ask(t.Context(), trials, fleet.Question{Outcome: "direction", Category: "driver", Attributes: o.Attributes,
			Traits: o.Traits, Test: fleet.KnappHartung})
		if err != nil {
			t.Fatalf("fleet %d: %v", i, err)
		}
		want := truth.In(a.Design)
		all, err := a.Dependences(fleet.Person{})
		if err != nil {
			t.Fatal(err)
		}
		listed, err := a.Findings(fleet.Person{})
		if err != nil {
			t.Fatal(err)
		}
		shown := map[string]bool{}
		for _, f := range listed {
			if f.Dependence != nil {
				shown[f.Dependence.Attribute+":"+f.Dependence.Trait] = true
			}
		}
		called, wrong := 0.0, 0.0
		for _, d := range all {
			name := d.Attribute + ":" + d.Trait
			real, found := truth.Terms[name] != 0, d.Evidence == fleet.Finding
			s.add(d, want[name], real, shown[name])
			if found {
				called++
				if !real {
					wrong++
				}
			}
		}
		shares = append(shares, wrong/math.Max(called, 1))
	}
	for _, x := range shares {
		s.Rate += x / float64(fleets)
	}
	for _, x := range shares {
		s.SE += (x - s.Rate) * (x - s.Rate)
	}
	s.SE = math.Sqrt(s.SE / float64(fleets*max(fleets-1, 1)))
	return s
}

func (s *screening) add(d fleet.Dependence, slope float64, real, shown bool) {
	found := d.Evidence == fleet.Finding
	span := slope
	if d.Slope != 0 {
		span *= d.Span / d.Slope
	}
	switch {
	case real:
		s.Planted++
		if d.P < 0.05 {
			s.Seen++
			if shown {
				s.Said++
			}
			if found {
				s.Found++
			}
		}
		if found {
			s.FoundAny++
			if d.Span*span < 0 {
				s.WayWrong++
			}
		}
	case found:
		s.False++
	}
	switch d.Margin {
	case fleet.Within:
		s.Within++
		if math.Abs(span) > d.Bound {
			s.WithinWrong++
		}
	case fleet.Beyond:
		s.Beyond++
		if math.Abs(span) < d.Bound {
			s.BeyondWrong++
		}
	}
}

// What was planted is said, and what was not is called a finding no oftener than
// promised. The long run is kept in testdata/fleet/findings.json.
func TestPlantedDependencesAreFound(t *testing.T) {
	fleets, players := 8, 250
	prove := proof.Wanted()
	if prove {
		fleets, players = 200, 600
	}
	s := screenFleets(t, fleets, players)
	t.Logf("%+v", s)
	if s.Said != s.Seen || s.Seen == 0 {
		t.Errorf("of %d planted dependences with p below .05, %d are said", s.Seen, s.Said)
	}
	if float64(s.Found) < 0.85*float64(s.Seen) {
		t.Errorf("of %d planted dependences with p below .05, %d are findings", s.Seen, s.Found)
	}
	if s.Rate > s.Promised+3*s.SE {
		t.Errorf("false discoveries: %.3f ± %.3f, promised at most %.2f", s.Rate, s.SE, s.Promised)
	}
	if float64(s.WayWrong) > 0.02*float64(s.FoundAny)+1 {
		t.Errorf("%d of %d found point the wrong way", s.WayWrong, s.FoundAny)
	}
	for name, n := range map[string][2]int{"within": {s.WithinWrong, s.Within}, "beyond": {s.BeyondWrong, s.Beyond}} {
		if p := 0.05 * float64(n[1]); float64(n[0]) > p+3*math.Sqrt(p)+1 {
			t.Errorf("%d of %d said %s the margin are not", n[0], n[1], name)
		}
	}
	if prove {
		b, err := json.MarshalIndent(s, "", "  ")
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile("../../../../testdata/fleet/findings.json", append(b, '\n'), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}
