package feed

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"fairlead/ingest/contract/event"
)

// numbered is a map of a device that counts its shots; more goes below it.
func numbered(t testing.TB, more string) *Map {
	return parsed(t, `map: 1
device: alder
role: ball
format: csv
`+more+`
fields:
  ball_speed: {column: Ball, unit: m/s}
`)
}

// shotsOf reads files one after the other as one feed and names each shot by
// the order in which its id was first met.
func shotsOf(t testing.TB, m *Map, n *Numbers, files ...string) string {
	t.Helper()
	s := testStamp
	s.Numbers = n
	known := map[event.ShotID]int{}
	var out []string
	for i, text := range files {
		name := fmt.Sprintf("f%d.csv", i)
		entries, _, err := ParseAll(m, name, strings.NewReader(text), s)
		if err != nil {
			t.Fatal(err)
		}
		for _, e := range entries {
			if !e.Valid() {
				t.Fatalf("refused: %v", e.Faults)
			}
			if _, ok := known[e.ID()]; !ok {
				known[e.ID()] = len(known) + 1
			}
			out = append(out, fmt.Sprint(known[e.ID()]))
		}
	}
	return strings.Join(out, " ")
}

// TestANumberUsedAgain is about what is one shot and what are two.
func TestANumberUsedAgain(t *testing.T) {
	const timed = "shot_id: {column: No}\ntime: {column: At, layout: '2006-01-02 15:04:05', zone: UTC}"
	const revised = timed + "\nrevision: {column: Rev}"
	head := "No,At,Rev,Ball\n"
	line := func(no int, at string, rev int, ball float64) string {
		return fmt.Sprintf("%d,2026-05-01 %s,%d,%g\n", no, at, rev, ball)
	}
	for _, c := range []struct {
		name, keys, want string
		counts           NumberCounts
		files            []string
	}{
		{"a second player begins at the same number", timed, "1 2 3 4", NumberCounts{Reused: 2}, []string{
			head + line(101, "10:00:00", 0, 50) + line(102, "10:00:40", 0, 51) + line(101, "11:00:00", 0, 60) + line(102, "11:00:40", 0, 61)}},
		{"the same clock is the same shot", timed, "1 2 1", NumberCounts{Revisions: 1}, []string{
			head + line(101, "10:00:00", 0, 50) + line(102, "10:00:40", 0, 51) + line(101, "10:00:00", 0, 50.2)}},
		{"written twice within a moment", timed, "1 1 2", NumberCounts{Revisions: 1}, []string{
			head + line(101, "10:00:00", 0, 50) + line(101, "10:00:02", 0, 50.4) + line(102, "10:00:40", 0, 51)}},
		{"a constant number names nothing", timed, "1 2 3", NumberCounts{Reused: 2}, []string{
			head + line(1, "10:00:00", 0, 50) + line(1, "10:00:20", 0, 51) + line(1, "10:00:40", 0, 52)}},
		{"numbered revisions, also of a second use", revised, "1 1 2 2 2", NumberCounts{Reused: 1, Revisions: 3}, []string{
			head + line(101, "10:00:00", 0, 50) + line(101, "10:30:00", 1, 51) +
				line(101, "11:00:00", 0, 60) + line(101, "11:00:09", 1, 61) + line(101, "11:20:00", 2, 62)}},
		{"without a clock another file is another session", "shot_id: {column: No}", "1 2 3 4", NumberCounts{Reused: 2}, []string{
			"No,Ball\n1,50\n2,51\n", "No,Ball\n1,60\n2,61\n"}},
		{"without a clock the order says it", "shot_id: {column: No}", "1 2 2 3 4", NumberCounts{Reused: 2, Revisions: 1}, []string{
			"No,Ball\n1,50\n2,51\n2,51.5\n1,60\n2,61\n"}},
		{"a copy of the file is the same shots", "shot_id: {column: No}", "1 2 1 2", NumberCounts{Repeats: 2}, []string{
			"No,Ball\n1,50\n2,51\n", "No,Ball\n1,50\n2,51\n"}},
		{"the map says that numbers are never used again", "shot_id: {column: No, scope: device}", "1 2 1", NumberCounts{Revisions: 1}, []string{
			"No,Ball\n1,50\n2,51\n1,50.5\n"}},
	} {
		n := &Numbers{}
		if got := shotsOf(t, numbered(t, c.keys), n, c.files...); got != c.want || n.Counts() != c.counts {
			t.Errorf("%s: shots %s, want %s; counted %+v, want %+v", c.name, got, c.want, n.Counts(), c.counts)
		}
	}
}

// TestNumbersAfterARestart reads on with what the journal remembers, and reads
// all again: the same shots have the same ids.
func TestNumbersAfterARestart(t *testing.T) {
	m := numbered(t, "shot_id: {column: No}\ntime: {column: At, layout: unix}")
	const before, after = "No,At,Ball\n7,1777626000,50\n8,1777626040,51\n7,1777629600,60\n",
		"7,1777629600,60.5\n8,1777629640,61\n7,1777633200,70\n"
	whole := testStamp
	whole.Numbers = &Numbers{}
	want, _, err := ParseAll(m, "f.csv", strings.NewReader(before+after), whole)
	if err != nil {
		t.Fatal(err)
	}
	fresh := testStamp
	fresh.Numbers = &Numbers{}
	for _, e := range want[:3] {
		fresh.Numbers.Relearn(e)
	}
	got, _, err := ParseAll(m, "f.csv", strings.NewReader("No,At,Ball\n"+after), fresh)
	if err != nil {
		t.Fatal(err)
	}
	for i, e := range got {
		if e.ID() != want[3+i].ID() {
			t.Errorf("line %q has another id after a restart", e.Raw)
		}
	}
	again, _, err := ParseAll(m, "copy.csv", bytes.NewReader([]byte(before+after)), whole)
	if err != nil {
		t.Fatal(err)
	}
	for i, e := range again {
		if e.ID() != want[i].ID() {
			t.Errorf("line %q has another id when it is read again", e.Raw)
		}
	}
	if plain := event.ShotIDFor("alder", "7"); want[0].ID() != plain {
		t.Error("the first use of a number does not have the number's own id")
	}
}
