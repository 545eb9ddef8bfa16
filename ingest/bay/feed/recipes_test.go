package feed

import (
	"errors"
	"strings"
	"testing"

	"fairlead/ingest/contract/event"
)

// TestPreamble reads values that stand once above many shots, or between them.
func TestPreamble(t *testing.T) {
	const table = `map: 1
device: alder
role: ball
format: csv
csv: {delimiter: ";", skip: 1}
preamble: {Day: "^Date: *([^;]+)", Session: "^Session[ ;]+(\\w+)", Note: "^# note: (.*)$"}
comment: "#"
time: {columns: [Day, Time], layout: "02.01.2006 15:04:05", zone: UTC}
shot_id: {columns: [Session, No]}
settings: {note: {column: Note}}
fields:
  carry: {column: Carry, unit: m}
`
	const file = "Date: 01.05.2026;\nSession A7\n# note: left heel sore\nNo;Time;Carry\n1;09:10:02;150\nSession B1\n1;09:40:00;151\n"
	m := parsed(t, table)
	got, skipped, err := ParseAll(m, "f", strings.NewReader(file), testStamp)
	if err != nil || len(got) != 2 || skipped.Header != 5 {
		t.Fatalf("%d entries, %+v skipped, %v", len(got), skipped, err)
	}
	for i, want := range []string{"A7/1", "B1/1"} {
		if e := got[i]; !e.Valid() || e.DeviceShotId != want || e.DeviceUnixNs == 0 || e.Settings["note"] != "left heel sore" {
			t.Errorf("shot %d: %v", i, e)
		}
	}
	inside := parsed(t, `map: 1
device: alder
role: ball
format: json
records: shots
preamble: {Day: "\"day\": \"(.+?)\""}
time: {columns: [Day, t], layout: "2006-01-02 15:04:05", zone: UTC}
fields: {carry: {column: c, unit: m}}
`)
	got, _, err = ParseAll(inside, "f", strings.NewReader(`{"day": "2026-05-01", "shots": [{"t":"09:10:02","c":150},{"t":"09:11:00","c":151}]}`), testStamp)
	if err != nil || len(got) != 2 || !got[0].Valid() || got[1].DeviceUnixNs-got[0].DeviceUnixNs != 58e9 {
		t.Errorf("around a list: %v, %v", got, err)
	}
	headless := parsed(t, strings.NewReplacer(`skip: 1}`, `header: false, cells: 3}`, `columns: [Session, No]`, `columns: [Session, 1]`,
		`[Day, Time]`, `[Day, 2]`, `column: Carry`, `column: 3`).Replace(table))
	got, _, err = ParseAll(headless, "f", strings.NewReader("Date: 01.05.2026\nSession A7\n1;09:10:02;150\n2;09:11:02;151\n"), testStamp)
	if err != nil || len(got) != 2 || !got[1].Valid() || got[1].DeviceShotId != "A7/2" {
		t.Errorf("without a header: %v, %v", got, err)
	}
}

// TestRoleByValue tells putts from full swings in one file.
func TestRoleByValue(t *testing.T) {
	m := parsed(t, `map: 1
device: alder
role: {column: Kind, roll: [putt], ball: [full, chip]}
format: csv
shot_id: {column: No}
fields:
  ball_speed: {column: Speed, unit: m/s}
`)
	got, _, err := ParseAll(m, "f", strings.NewReader("No,Kind,Speed\n1,Full,60\n2,Putt,2\n3,bunker,30\n"), testStamp)
	if err != nil || len(got) != 3 {
		t.Fatal(got, err)
	}
	if got[0].Role != event.Role_ROLE_BALL || got[1].Role != event.Role_ROLE_ROLL || got[2].Valid() || got[2].Faults[0].Field != "role" {
		t.Errorf("roles %v, %v, %v", got[0], got[1], got[2])
	}
}

// TestBearings takes the target line's bearing from a compass bearing.
func TestBearings(t *testing.T) {
	for _, c := range []struct {
		bearing, cell string
		want          float64
	}{{"0", "358.5", -1.5}, {"0", "1.5", 1.5}, {"359", "2", 3}, {"117.5", "115", -2.5}, {"180", "185", 5}, {"{column: Target}", "92", 2}} {
		m := parsed(t, "map: 1\ndevice: alder\nrole: ball\nformat: csv\nshot_id: {column: No}\nfields:\n  ball_speed: {column: V, unit: m/s}\n"+
			"  launch_direction: {column: Dir, unit: deg, bearing: "+c.bearing+"}\n")
		got, _, err := ParseAll(m, "f", strings.NewReader("No,V,Dir,Target\n1,60,"+c.cell+",90\n"), testStamp)
		if err != nil || len(got) != 1 || !got[0].Valid() {
			t.Fatal(c, got, err)
		}
		if v, _ := got[0].Get(event.Field_FIELD_LAUNCH_DIRECTION); v < c.want-1e-9 || v > c.want+1e-9 {
			t.Errorf("bearing %s, %s deg: %v, want %v", c.bearing, c.cell, v, c.want)
		}
	}
}

const expecting = `map: 1
device: alder
role: ball
format: csv
comment: "#"
shot_id: {column: No}
fields:
  ball_speed: {column: Speed, unit: mph}
  offline: {column: Side, unit: yd, letters: {positive: [R], negative: [L]}}
expect:
  - {lines: "# export", nothing: true}
  - lines: |
      No,Speed,Side
      1,118.4,3.2 L
    shot: {shot_id: 1, ball_speed: 118.4 mph, offline: -2.9 m, carry: none}
  - {lines: "2,118.4,3.2", refused: no side}
`

// TestExpectations: a map that does not read its own examples as it says is refused.
func TestExpectations(t *testing.T) {
	parsed(t, expecting)
	for _, c := range []struct {
		old, new string
		line     int
		says     string
	}{
		{"unit: mph", "unit: km/h", 15, "is read as 32.8889 m/s, and 52.9"},
		{"[R], negative: [L]", "[L], negative: [R]", 15, "is read as 2.92"},
		{"shot_id: 1,", "shot_id: 7,", 15, `is read as "1", and "7"`},
		{`comment: "#"`, `comment: "!"`, 11, "nothing was expected"},
		{"refused: no side", "refused: not a number", 16, "another reason"},
		{`"2,118.4,3.2"`, `"2,118.4,3.2 R"`, 16, "expected to be refused"},
		{"ball_speed: 118.4 mph", "ball_sped: 118.4 mph", 15, "is not a field"},
	} {
		_, err := ParseMap("x.yaml", []byte(strings.Replace(expecting, c.old, c.new, 1)))
		if bad := flat(err); len(bad) == 0 || bad[0].Line != c.line || !strings.Contains(bad[0].Error(), c.says) {
			t.Errorf("%s: %v; want line %d, %q", c.new, err, c.line, c.says)
		}
	}
}

// TestAllErrorsAtOnce names every mistake of a map with its line, and none that
// only follows from another.
func TestAllErrorsAtOnce(t *testing.T) {
	const bad = `map: 1
device: Alder One
role: bal
format: csv
encoding: ascii
csv: {delimiter: ab, quot: none}
numbers: {decimal: ";"}
time: {column: T, layout: "HH:mm", zone: Londn}
shot_id: {column: No, scope: week}
skip_rows: [{column: Kind}, {line: "("}]
fields:
  carry: {column: Carry, unit: mph, invert: perhaps}
  carri: {column: Carry, unit: m}
  offline: {column: Side, unit: yd, letters: {positive: R}, zero: maybe}
`
	_, err := ParseMap("x.yaml", []byte(bad))
	var lines []int
	var keys []string
	for _, e := range flat(err) {
		lines, keys = append(lines, e.Line), append(keys, e.Key)
	}
	want := []string{"device", "role", "encoding", "csv.quot", "csv.delimiter", "numbers.decimal", "time.layout", "time.zone", "shot_id.scope",
		"skip_rows.1", "skip_rows.2.line", "fields.carry.unit", "fields.carry.invert", "fields.carri", "fields.offline.letters",
		"fields.offline.zero"}
	for _, key := range want {
		found := 0
		for _, have := range keys {
			if have == key {
				found++
			}
		}
		if found != 1 {
			t.Errorf("%s is named %d times", key, found)
		}
	}
	if len(keys) != len(want) {
		t.Errorf("%d errors, want %d:\n%v", len(keys), len(want), err)
	}
	for i := 1; i < len(lines); i++ {
		if lines[i] < lines[i-1] {
			t.Errorf("the lines are not in order: %v", lines)
		}
	}
	var one *MapError
	if !errors.As(err, &one) {
		t.Errorf("no *MapError: %v", err)
	}
}
