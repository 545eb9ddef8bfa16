package evidence

import "testing"

// A count that is beyond what is looked at is null for scripts, never −1.
func TestAccountOfNeededShots(t *testing.T) {
	out := tellOutcome(Statement{Needed: Needed{P50: 12, P90: -1}})
	if n := out.ShotsNeeded; n == nil || n.P50 == nil || *n.P50 != 12 || n.P90 != nil {
		t.Errorf("%+v", out.ShotsNeeded)
	}
	if out := tellOutcome(Statement{NotYet: true, More: 2}); out.ShotsNeeded != nil || out.Change != nil || out.More != 2 {
		t.Errorf("%+v", out)
	}
}
