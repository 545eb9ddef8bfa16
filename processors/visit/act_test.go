package visit

import (
	"strings"
	"testing"
)

// Signs that turn the direction of writing are refused in every field of every act.
func TestTurnedWritingIsRefused(t *testing.T) {
	for _, act := range Acts() {
		for _, f := range act.Fields {
			_, faults := Read(act.Name, Input{f.Name: {"half\u202einch"}}, &Place{})
			found := false
			for _, fault := range faults {
				found = found || fault.Field == f.Name && strings.Contains(fault.Reason, "direction of writing")
			}
			if !found {
				t.Errorf("%s: %s takes signs that turn the direction of writing", act.Name, f.Name)
			}
		}
	}
	r := &Reader{In: Input{"words": {"كرة جيدة"}}}
	if r.showing(); len(r.Faults) > 0 {
		t.Errorf("words written from right to left are refused: %v", r.Faults[0])
	}
}
