package feed

import (
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"fairlead/ingest/contract/event"
)

const turned = `map: 1
device: birch
role: ball
format: csv
csv: {transposed: true, units: true, skip: 1, delimiter: ";"}
numbers: {decimal: ","}
encoding: windows-1252
shot_id: {column: No}
fields:
  ball_speed: {column: Geschwindigkeit Bäll, unit: km/h}
  carry: {column: Carry, unit: m}
`

const long = `map: 1
device: birch
role: ball
format: csv
csv: {long: {name: What, value: Value}}
shot_id: {column: Shot}
fields:
  ball_speed: {column: Ball, unit: m/s}
  carry: {column: Carry, unit: m}
  apex: {column: Apex, unit: m}
`

// TestTablesReadAsAWhole reads a column, or a run of rows, as a shot: in any
// encoding, with values that are not there, and a name that comes again.
func TestTablesReadAsAWhole(t *testing.T) {
	for name, c := range map[string]struct {
		m, text string
		want    []string // shot id, ball speed in m/s to a tenth, carry
	}{
		"transposed": {turned, "Bericht\nNo;;1;2;3\nGeschwindigkeit B\xe4ll;km/h;180,0;190,8;\nCarry;m;150;151,5;152\n",
			[]string{"1 50.0 150", "2 53.0 151.5", "3 - 152"}},
		"long": {long, "Shot,What,Value\n1,Ball,50\n1,Carry,150\n2,Ball,53\n2,Carry,151.5\n2,Noise,9\n3,Carry,152\n",
			[]string{"1 50.0 150", "2 53.0 151.5", "3 - 152"}},
		"long, one shot without an end": {strings.Replace(long, "shot_id: {column: Shot}", "shot_id: {scope: file}", 1),
			"What,Value\nBall,50\nCarry,150\nBall,53\nCarry,151.5", []string{" 50.0 150", " 53.0 151.5"}},
	} {
		got, _, err := ParseAll(parsed(t, c.m), "f.csv", strings.NewReader(c.text), testStamp)
		if err != nil || len(got) != len(c.want) {
			t.Errorf("%s: %d shots, %v", name, len(got), err)
			continue
		}
		for i, e := range got {
			if !e.Valid() || said(e) != c.want[i] {
				t.Errorf("%s: shot %d is %q (%v), want %q", name, i, said(e), e.Faults, c.want[i])
			}
		}
	}
}

// TestTablesReadAsAWholeInAFolder: written again with one shot more, a table
// gives the shots that it had under the ids that they had.
func TestTablesReadAsAWholeInAFolder(t *testing.T) {
	m, dir := parsed(t, turned), t.TempDir()
	in := filepath.Join(dir, "in")
	if err := os.Mkdir(in, 0o755); err != nil {
		t.Fatal(err)
	}
	f := folderOf(t, m, dir)
	f.cfg.Dir, f.cfg.Pattern = in, "*"
	k := newKeeper()
	stop := running(t, f, k)
	write(t, filepath.Join(in, "f.csv"), "x\nNo;;1\nGeschwindigkeit B\xe4ll;km/h;180\nCarry;m;150\n")
	k.until(t, 1)
	again := "x\nNo;;1;2\nGeschwindigkeit B\xe4ll;km/h;180;181\nCarry;m;150;151\n"
	if err := os.WriteFile(filepath.Join(in, "f.csv"), []byte(again), 0o600); err != nil {
		t.Fatal(err)
	}
	got := k.until(t, 3)
	stop()
	if !got[0].Valid() || said(got[0]) != "1 50.0 150" || got[0].ID() != got[1].ID() || got[1].ID() == got[2].ID() {
		t.Errorf("%v", got)
	}
	if _, err := NewTail(TailConfig{Map: m, Path: "x"}); err == nil || !strings.Contains(err.Error(), "follow it as a folder") {
		t.Errorf("as a tail: %v", err)
	}
}

// TestAnElementWhoseNameBeginsAnothers ends at its own end.
func TestAnElementWhoseNameBeginsAnothers(t *testing.T) {
	m := parsed(t, `map: 1
device: birch
role: ball
format: xml
records: swing
fields: {carry: {column: carry, unit: m}}
shot_id: {column: no}
`)
	const file = "<all><swing><no>1</no><swing_path>2</swing_path><carry>150</carry></swing></all>"
	got, _, err := ParseAll(m, "f.xml", strings.NewReader(file), testStamp)
	if err != nil || len(got) != 1 || !got[0].Valid() || said(got[0]) != "1 - 150" {
		t.Errorf("%v, %v", got, err)
	}
}

// TestAHeaderAgainWithoutItsUnits loses no shot to the row of units that does not come.
func TestAHeaderAgainWithoutItsUnits(t *testing.T) {
	m := parsed(t, `map: 1
device: birch
role: ball
format: csv
csv: {units: true}
fields: {carry: {column: Carry, unit: m}}
shot_id: {column: No}
`)
	const file = "No,Carry\n,m\n1,150\nNo,Carry\n2,151\nNo,Carry\n,m\n3,152\n"
	got, skipped, err := ParseAll(m, "f.csv", strings.NewReader(file), testStamp)
	if err != nil || len(got) != 3 || skipped.Header != 5 {
		t.Errorf("%d shots, %+v, %v", len(got), skipped, err)
	}
}

// said writes an entry's number, ball speed and carry.
func said(e *event.Entry) string {
	v := func(f event.Field) string {
		if x, ok := e.Get(f); ok {
			return strconv.FormatFloat(math.Round(10*x)/10, 'f', map[bool]int{true: 1, false: -1}[f == event.Field_FIELD_BALL_SPEED], 64)
		}
		return "-"
	}
	return e.DeviceShotId + " " + v(event.Field_FIELD_BALL_SPEED) + " " + v(event.Field_FIELD_CARRY)
}
