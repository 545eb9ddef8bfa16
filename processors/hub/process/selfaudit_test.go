package process

import (
	"testing"
	"time"
)

// A change that comes while an audit runs, which may be past it, is looked into soon,
// however long audits take on a busy machine; and changes that never end cost no more
// than their share.
func TestAuditsRest(t *testing.T) {
	const took = 6 * time.Second
	now := time.Date(2026, 5, 4, 9, 0, 0, 0, time.UTC)
	var r rests
	audit := func(idle bool) time.Duration {
		now = now.Add(took)
		rest := r.after(took, now, idle)
		now = now.Add(rest)
		return rest
	}
	for i, want := range []time.Duration{10, 20, 40, 80, 120, 120} {
		if rest := audit(true); rest != want*time.Second {
			t.Errorf("audit %d that finds nothing: %s of rest, want %d s", i, rest, want)
		}
	}
	if rest := audit(false); rest != auditPause {
		t.Errorf("after one that mends: %s of rest", rest)
	}
	audit(true)
	audit(true)
	now = now.Add(time.Hour) // nothing was changed
	if rest := audit(true); rest != auditPause {
		t.Errorf("after an hour without a sign: %s of rest", rest)
	}
}
