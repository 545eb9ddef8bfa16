package group

import (
	"strings"
	"testing"
	"time"

	"fairlead/processors/hub/store"
)

func TestTheLineSaysWhatWaitsAndWhy(t *testing.T) {
	now := time.Date(2026, 5, 4, 12, 0, 0, 0, time.UTC)
	ago := func(d time.Duration) time.Time { return now.Add(-d) }
	for _, c := range []struct {
		s    State
		says string
	}{
		{State{}, "Nothing was sent"},
		{State{At: now, Heard: ago(9 * time.Hour)}, "has all that is stored here"},
		{State{At: now, Entries: 3, Events: 1, Since: ago(50 * time.Hour), Trouble: "x", Heard: ago(72 * time.Hour)},
			"3 entries and 1 events wait to go to the head office, the first for 2 days. The head office can't be reached; nothing is lost, " +
				"it is sent when it can be. It last answered 3 days ago."},
		{State{At: now, Trouble: "x", Own: true}, "own store does not answer"},
	} {
		if got := c.s.Line(now); !strings.Contains(got, c.says) {
			t.Errorf("%q, want %q", got, c.says)
		}
	}
}

func TestDaysThatDifferAreNamed(t *testing.T) {
	here := []store.DaySum{{Table: "entries", Day: "2026-05-04", Rows: 3, Sum: 9}, {Table: "trials", Day: "2026-05-04", Rows: 1, Sum: 5}}
	m := Compare("harbour-row", here, here)
	if !m.Alike() || len(m.Days) != 2 {
		t.Errorf("%+v", m)
	}
	there := []store.DaySum{{Table: "entries", Day: "2026-05-04", Rows: 2, Sum: 4}, {Table: "trials", Day: "2026-05-04", Rows: 1, Sum: 6},
		{Table: "verdicts", Day: "2026-05-03", Rows: 1, Sum: 1}}
	m = Compare("harbour-row", here, there)
	var text strings.Builder
	if err := m.WriteText(&text); err != nil {
		t.Fatal(err)
	}
	for _, says := range []string{"2026-05-03  verdicts", "3 here", "1 not there yet", "1 not here any more", "other content", "0 of 3 days"} {
		if !strings.Contains(text.String(), says) {
			t.Errorf("%q is not in\n%s", says, text.String())
		}
	}
	if m.Alike() {
		t.Error("what differs is called alike")
	}
}
