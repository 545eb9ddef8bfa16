package feed

import (
	"bytes"
	"encoding/json"
	"flag"
	"os"
	"path/filepath"
	"testing"

	"fairlead/ingest/contract/event"
)

var update = flag.Bool("update", false, "write the expected output of the example feeds anew")

const exampleDir = "../../../testdata/feeds"

var examples = map[string]string{"alder": "alder.csv", "brook": "brook.ndjson", "cedar": "cedar.txt", "dune": "dune.csv",
	"ember": "ember.csv"}

func example(t testing.TB, name string) (*Map, []byte) {
	t.Helper()
	m, err := LoadMap(filepath.Join(exampleDir, name+".yaml"))
	if err != nil {
		t.Fatal(err)
	}
	data, err := os.ReadFile(filepath.Join(exampleDir, examples[name]))
	if err != nil {
		t.Fatal(err)
	}
	return m, data
}

// TestExamples reads the five example devices, bad lines included.
func TestExamples(t *testing.T) {
	for name, file := range examples {
		m, data := example(t, name)
		entries, _, err := ParseAll(m, file, bytes.NewReader(data), testStamp)
		if err != nil {
			t.Fatal(err)
		}
		var shots, rejects bytes.Buffer
		for _, e := range entries {
			if e.Valid() {
				line, err := ShotJSON(e)
				if err != nil {
					t.Fatal(err)
				}
				shots.Write(append(line, '\n'))
			}
			for _, r := range Rejects(m, e) {
				if err := json.NewEncoder(&rejects).Encode(r); err != nil {
					t.Fatal(err)
				}
			}
		}
		if shots.Len() == 0 || rejects.Len() == 0 {
			t.Errorf("%s shows no shot or no reject", name)
		}
		golden(t, filepath.Join(exampleDir, name+".shots.ndjson"), shots.Bytes())
		golden(t, filepath.Join(exampleDir, name+".rejects.ndjson"), rejects.Bytes())
	}
}

func golden(t *testing.T, path string, got []byte) {
	t.Helper()
	if *update {
		if err := os.WriteFile(path, got, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, want) {
		t.Errorf("%s differs; if the change is meant, run go test ./ingest/bay/feed -update and read the difference\n got:\n%s\nwant:\n%s", path,
			got, want)
	}
}

// TestExampleValues checks by hand what the golden files hold: units, sides,
// signs, days.
func TestExampleValues(t *testing.T) {
	for _, c := range []struct {
		name   string
		line   uint64
		field  event.Field
		want   float64
		handed bool
	}{
		{"alder", 2, event.Field_FIELD_BALL_SPEED, 118.4 * 0.44704, false},
		{"alder", 2, event.Field_FIELD_LAUNCH_DIRECTION, -0.4, false},
		{"alder", 3, event.Field_FIELD_LAUNCH_DIRECTION, 1.3, false},
		{"alder", 2, event.Field_FIELD_SPIN_RATE, 6412, false},
		{"alder", 2, event.Field_FIELD_OFFLINE, 1.9 * 0.9144, false},
		{"alder", 12, event.Field_FIELD_BALL_SPEED, 156.2 * 0.44704, false},
		{"brook", 2, event.Field_FIELD_BACK_SPIN, 107.2 * 60, false},
		{"brook", 2, event.Field_FIELD_SIDE_SPIN, -2.1 * 60, true},
		{"brook", 2, event.Field_FIELD_CLUB_PATH, 1.2, true},
		{"brook", 2, event.Field_FIELD_STRIKE_Y, -0.002, false},
		{"cedar", 2, event.Field_FIELD_HANG_TIME, 6.01, false},
		{"cedar", 2, event.Field_FIELD_AIR_TEMPERATURE, 20, false},
		{"dune", 3, event.Field_FIELD_LAUNCH_DIRECTION, -0.4, false},
		{"dune", 10, event.Field_FIELD_BALL_SPEED, 4.9, false},
		{"ember", 2, event.Field_FIELD_CLUB_PATH, 1.2, false},
		{"ember", 3, event.Field_FIELD_STRIKE_X, -0.006, false},
		{"ember", 2, event.Field_FIELD_CLOSURE_RATE, 400, false},
	} {
		m, data := example(t, c.name)
		entries, _, err := ParseAll(m, examples[c.name], bytes.NewReader(data), testStamp)
		if err != nil {
			t.Fatal(err)
		}
		found := false
		for _, e := range entries {
			if e.Line != c.line {
				continue
			}
			found = true
			got := e.Measure(c.field)
			if got == nil || got.Value-c.want > 1e-9 || c.want-got.Value > 1e-9 || got.Handed != c.handed {
				t.Errorf("%s line %d: %v = %v, want %v", c.name, c.line, c.field, got, c.want)
			}
		}
		if !found {
			t.Errorf("%s has no entry of line %d", c.name, c.line)
		}
	}
}
