package question

import (
	"testing"
	"time"

	"fairlead/deploy/engine/enginetest"
	"fairlead/processors/hub/store"
)

// TestHowBaysDid: lines of each bay, numbers that are missing of either journal, what was
// set aside, and the hours of a day; nothing of before or of another studio.
func TestHowBaysDid(t *testing.T) {
	s := store.New(enginetest.New(t).Open(t))
	if err := s.Migrate(t.Context()); err != nil {
		t.Fatal(err)
	}
	do := func(statement string) {
		t.Helper()
		if err := s.Conn().Exec(t.Context(), statement); err != nil {
			t.Fatal(err)
		}
	}
	lines := func(studio, bay, journal, seqs, status, at string) {
		t.Helper()
		do("INSERT INTO entries (studio, bay, journal, seq, shot_id, status, received) SELECT '" + studio + "', '" + bay + "', '" + journal +
			"', s, generateUUIDv4(), '" + status + "', toDateTime64('" + at + "', 9, 'UTC') + s FROM (SELECT arrayJoin(" + seqs + ") AS s)")
	}
	lines("harbour-row", "north", "j1", "[1, 2, 3]", "counts", "2026-04-30 23:00:00")
	lines("harbour-row", "north", "j1", "[10, 11, 14]", "counts", "2026-05-01 09:00:00")
	lines("harbour-row", "north", "j1", "[15]", "rejected", "2026-05-01 09:30:00")
	lines("harbour-row", "north", "j1", "[15]", "rejected", "2026-05-01 09:30:00")
	lines("harbour-row", "north", "j2", "[1, 3]", "between", "2026-05-02 11:00:00")
	lines("harbour-row", "south", "j3", "[7]", "counts", "2026-05-01 10:00:00")
	lines("mill-lane", "north", "j1", "[1, 90]", "counts", "2026-05-01 10:00:00")
	do("INSERT INTO set_aside (studio, bay, of, key, reason, at) VALUES ('harbour-row', 'north', 'entries', 'k', 'no number', " +
		"'2026-05-03 10:00:00')")
	type did struct{ lines, refused, unsure, missing, aside uint64 }
	got := map[string]did{}
	rows, err := s.Conn().Query(t.Context(), BaysSince(), named("studio", "harbour-row", "since", "2026-05-01 00:00:00")...)
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	for rows.Next() {
		var bay string
		var d did
		var latest time.Time
		if err := rows.Scan(&bay, &d.lines, &d.refused, &d.unsure, &d.missing, &d.aside, &latest); err != nil {
			t.Fatal(err)
		}
		got[bay] = d
	}
	if want := (did{6, 1, 2, 3, 1}); got["north"] != want {
		t.Errorf("north %+v, want %+v", got["north"], want)
	}
	if want := (did{1, 0, 0, 0, 0}); got["south"] != want || len(got) != 2 {
		t.Errorf("south %+v of %v, want %+v", got["south"], got, want)
	}
	var other string
	var bays, came uint64
	var latest time.Time
	if err := s.Conn().QueryRow(t.Context(), OtherStudiosSince(), named("studio", "harbour-row", "day", "2026-05-01 10:01:00", "since",
		"2026-04-01 00:00:00")...).Scan(&other, &bays, &came, &latest); err != nil || other != "mill-lane" || bays != 1 || came != 1 {
		t.Errorf("%v: %s has %d bays and %d lines", err, other, bays, came)
	}
	var hour uint8
	var counts, refused, all uint64
	if err := s.Conn().QueryRow(t.Context(), BayByHour(), named("studio", "harbour-row", "bay", "north", "from", "2026-05-01 00:00:00",
		"to", "2026-05-02 00:00:00")...).Scan(&hour, &counts, &refused, &all); err != nil ||
		hour != 9 || counts != 3 || refused != 1 || all != 4 {
		t.Errorf("%v: at %d o'clock %d count, %d are refused, of %d", err, hour, counts, refused, all)
	}
}
