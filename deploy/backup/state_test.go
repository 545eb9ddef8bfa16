package backup

import (
	"strings"
	"testing"
	"time"
)

// A copy that was taken while the clock ran ahead says nothing of its age, and the
// next one is not put off until then.
func TestACopyOfALaterDayIsNoCopyOfNow(t *testing.T) {
	now, day := time.Date(2026, 5, 4, 9, 0, 0, 0, time.UTC), 24*time.Hour
	for _, c := range []struct {
		taken time.Duration // before now
		due   bool
		said  string
	}{
		{time.Hour, false, ""}, {25 * time.Hour, true, ""}, {3 * day, true, "the newest backup is 3 days old"},
		{-5 * time.Minute, false, ""}, {-200 * day, true, "is yet to come: the clock was set"},
	} {
		s := State{Began: now.Add(-90 * day), Taken: now.Add(-c.taken)}
		due, said := Due(s.Taken, day, now), s.Late(now, day)
		if due != c.due || (said != "") != (c.said != "") || !strings.Contains(said, c.said) {
			t.Errorf("taken %s ago: due %v, %q", c.taken, due, said)
		}
	}
	if !Due(time.Time{}, day, now) {
		t.Error("none was taken, and none is due")
	}
	if s := (State{Failed: now, Failure: "no room"}); !strings.Contains(s.Failing(), "no room") || (State{}).Failing() != "" {
		t.Errorf("failing: %q", s.Failing())
	}
}
