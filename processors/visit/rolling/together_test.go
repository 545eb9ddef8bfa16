package rolling

import (
	"strings"
	"testing"
)

// A verdict that stands for itself only says so; one with evidence enough for the
// whole session holds.
func TestASessionHoldsTogether(t *testing.T) {
	all := []Comparison{
		{Outcomes: []Weighed{{Name: "carry", Verdict: "better", EValue: 30}, {Name: "spin", Verdict: "cannot tell yet", EValue: 2}}},
		{Outcomes: []Weighed{{Name: "launch", Verdict: "worse", EValue: 1e6}, {Name: "strike", NotYet: true, Verdict: "cannot tell yet"}}},
	}
	holdTogether(all, false)
	if all[0].Outcomes[0].Holds || !all[1].Outcomes[0].Holds || all[1].Outcomes[1].Holds {
		t.Errorf("%+v", all)
	}
	if len(all[0].Doubts) != 1 || !strings.Contains(all[0].Doubts[0], "carry; among all 4 statements") || len(all[1].Doubts) != 0 {
		t.Errorf("%q and %q", all[0].Doubts, all[1].Doubts)
	}
}
