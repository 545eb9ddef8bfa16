package feed

import (
	"fmt"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

const clockMap = `map: 1
device: alder
role: ball
format: csv
time: {column: At, layout: "2006-01-02 15:04:05", zone: Europe/London}
shot_id: {column: No}
fields: {carry: {column: Carry, unit: m}}
`

// TestAnHourThatComesTwice: the night the clocks go back, in the order of the
// file, whichever way that runs; the shot of a line that is written again keeps
// its time.
func TestAnHourThatComesTwice(t *testing.T) {
	for _, c := range []struct {
		name, m string
		said    string // times of day of 25 October 2026
		want    string // in UTC
		open    string // which of them the order does not settle
	}{
		{"forward", clockMap, "00:50 01:20 01:55 01:10 01:50 02:05", "23:50 00:20 00:55 01:10 01:50 02:05", "01:20 01:55"},
		{"on into the second", clockMap, "00:50 01:20 01:55 01:10 01:56", "23:50 00:20 00:55 01:10 01:56", "01:20 01:55"},
		{"newest first", clockMap, "03:05 02:10 01:50 01:10 01:55 01:20 00:50", "03:05 02:10 01:50 01:10 00:55 00:20 23:50", "01:50 01:10"},
		{"a little out of order", clockMap, "01:20 01:19:40 01:21", "00:20 00:19:40 00:21", "01:20 01:19:40 01:21"},
	} {
		var file strings.Builder
		file.WriteString("No,At,Carry\n")
		for i, at := range strings.Fields(c.said) {
			if len(at) == 5 {
				at += ":00"
			}
			fmt.Fprintf(&file, "%d,2026-10-25 %s,%d\n", i+1, at, 150+i)
		}
		r := NewReader(parsed(t, c.m), "f", strings.NewReader(file.String()))
		var got, open []string
		for i := range strings.Fields(c.said) {
			d, err := r.Next()
			if err != nil {
				t.Fatal(err)
			}
			got = append(got, strings.TrimSuffix(time.Unix(0, d.Entry.DeviceUnixNs).UTC().Format("15:04:05"), ":00"))
			if d.OtherUnixNs != 0 {
				open = append(open, strings.Fields(c.said)[i])
			}
		}
		if strings.Join(got, " ") != c.want || strings.Join(open, " ") != c.open {
			t.Errorf("%s: %v, open %v; want %s, open %s", c.name, got, open, c.want, c.open)
		}
		if r.Clock() != "" {
			t.Errorf("%s: %s", c.name, r.Clock())
		}
	}
	again := parsed(t, clockMap+"revision: {column: Rev}\n")
	got, _, err := ParseAll(again, "f", strings.NewReader("No,At,Carry,Rev\n1,2026-10-25 01:20:00,150,1\n2,2026-10-25 "+
		"01:50:00,151,1\n1,2026-10-25 01:20:00,152,2\n"), testStamp)
	if err != nil || len(got) != 3 || got[2].DeviceUnixNs != got[0].DeviceUnixNs {
		t.Errorf("a revised shot: %v, %v", got, err)
	}
}

// TestAnHourThatIsLeftOut: a time that no clock of the zone shows is no loss of
// the shot, and is said.
func TestAnHourThatIsLeftOut(t *testing.T) {
	r := NewReader(parsed(t, clockMap), "f", strings.NewReader("No,At,Carry\n1,2026-03-29 00:50:00,150\n2,2026-03-29 "+
		"01:10:00,151\n3,2026-03-29 02:20:00,152\n"))
	var got []string
	for range 3 {
		d, err := r.Next()
		if err != nil || !d.Entry.Valid() {
			t.Fatal(d.Entry, err)
		}
		got = append(got, time.Unix(0, d.Entry.DeviceUnixNs).UTC().Format("15:04"))
	}
	if strings.Join(got, " ") != "00:50 01:10 01:20" {
		t.Errorf("read as %v", got)
	}
	if says := r.Clock(); !strings.Contains(says, `1 times`) || !strings.Contains(says, "2026-03-29 01:10:00") {
		t.Errorf("it is not said: %q", says)
	}
}

// TestAFilePassesMidnight: the date stands in the file's name, the time of day in
// its lines.
func TestAFilePassesMidnight(t *testing.T) {
	m := strings.Replace(clockMap, `layout: "2006-01-02 15:04:05"`, `layout: "15:04:05", date_from_file: "2006-01-02"`, 1)
	for _, c := range []struct{ m, said, want string }{
		{m, "21:50 23:58 00:05 00:40 23:10 00:01", "1d21:50 1d23:58 2d00:05 2d00:40 2d23:10 3d00:01"},
		{m, "09:00 09:10 09:20 09:30 08:10", "1d09:00 1d09:10 1d09:20 1d09:30 2d08:10"}, // only ever forward: a day passed
		{m, "23:40 23:10 22:50 09:00", "1d23:40 1d23:10 1d22:50 1d09:00"},               // newest first
		{m + "revision: {column: No}\n", "08:00 21:00 08:00 00:10", "1d08:00 1d21:00 1d08:00 2d00:10"},
	} {
		var file strings.Builder
		file.WriteString("No,At,Carry\n")
		for i, at := range strings.Fields(c.said) {
			fmt.Fprintf(&file, "%d,%s:00,%d\n", i+1, at, 150+i)
		}
		got, _, err := ParseAll(parsed(t, c.m), "shots 2026-12-01.csv", strings.NewReader(file.String()), testStamp)
		if err != nil {
			t.Fatal(err)
		}
		var said []string
		for _, e := range got {
			said = append(said, time.Unix(0, e.DeviceUnixNs).UTC().Format("2d15:04"))
		}
		if strings.Join(said, " ") != c.want {
			t.Errorf("%s: %v, want %s", c.said, said, c.want)
		}
	}
}

// TestAClockGoesOnAfterARestart: what the lines before said outlives the reader.
func TestAClockGoesOnAfterARestart(t *testing.T) {
	dir := t.TempDir()
	m := parsed(t, strings.Replace(clockMap, `layout: "2006-01-02 15:04:05"`, `layout: "15:04:05", date_from_file: "2006-01-02"`, 1))
	path := filepath.Join(dir, "2026-12-01.csv")
	write(t, path, "No,At,Carry\n1,23:50:00,150\n")
	k := newKeeper()
	stop := running(t, tailOf(t, m, path), k)
	k.until(t, 1)
	stop()
	appendTo(t, path, "2,00:10:00,151\n")
	stop = running(t, tailOf(t, m, path), k)
	got := k.until(t, 2)
	stop()
	if d := got[1].DeviceUnixNs - got[0].DeviceUnixNs; d != int64(20*time.Minute) {
		t.Errorf("%s later", time.Duration(d))
	}
}
