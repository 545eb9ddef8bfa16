package feed

import (
	"fmt"
	"strings"
	"testing"

	"fairlead/ingest/contract/event"
)

// TestRecords reads the same two shots, and a third that is damaged or left
// out, however a device writes them down; whole, and as the file grows.
func TestRecords(t *testing.T) {
	const tail = "fields:\n  ball_speed: {column: %s, unit: mph}\n  carry: {column: %s, unit: yd}\n"
	head := func(format string) string {
		return "map: 1\ndevice: alder\nrole: ball\nshot_id: {scope: device}\n" + format + "\n"
	}
	for _, c := range []struct {
		name, format, ball, carry, text string
		entries                         int
	}{
		{"a JSON list", "format: json", "b.v", "c", `[{"b":{"v":118.4},"c":164.1}, {"b":{"v":120},"c":"166 yd"}]`, 2},
		{"a list within an object, spread over lines", "format: json\nrecords: shots", "b", "c",
			"{\"player\": {\"no\": 1},\n \"shots\": [\n  {\n \"b\": 118.4,\n \"c\": 164.1\n },\n {\"b\": 120, \"c\": 166, \"note\": \"a } in " +
				"\\\"words\\\"\"}\n ]\n}\n", 2},
		{"two lists", "format: json\nrecords: shots", "b", "c",
			`{"sessions":[{"n":1,"shots":[{"b":118.4,"c":164.1}]},{"n":2,"shots":[{"b":120,"c":166}]}]}`, 2},
		{"XML elements", "format: xml\nrecords: shot", "ball.speed", "carry",
			"<?xml version=\"1.0\"?>\n<shots date=\"x\">\n<shot no=\"1\"><ball speed=\"118.4\"/><carry>164.1</carry></shot>\n<shot no=\"2\" " +
				"carry=\"166\">\n <ball speed='120'/></shot>\n</shots>", 2},
		{"XML attributes", "format: xml\nrecords: s", "b", "c", `<shots><s b="118.4" c="164.1"/><s b="120" c="166" n="a > b"/></shots>`, 2},
		{"keys and values", "format: keys", "ball", "carry", "ball=118.4 carry=164.1 yd club=seven iron\nball=120 carry=166\n", 2},
		{"keys with semicolons", "format: keys\nkeys: {separator: \":\", between: \";\"}", "Ball", "Carry",
			"Ball: 118.4; Carry: 164.1\nBall:120;Carry:166\n", 2},
		{"a block a shot", "format: keys\nrecords: blank", "Ball Speed", "Carry",
			"Shot 1\nBall Speed: 118.4 mph\nCarry: 164.1\n\nShot 2\nBall Speed: 120\nCarry: 166\n", 2},
		{"a file a shot", "format: keys\nrecords: file", "Ball", "Carry", "Ball: 118.4\n\nCarry: 164.1\n", 1},
		{"fixed columns", "format: csv\ncsv: {widths: [8, 8, 6]}", "ball", "carry",
			"ball    carry   club\n118.4   164.1   iron\n120     166     wood\n", 2},
		{"blanks", "format: csv\ncsv: {delimiter: spaces}", "ball", "carry", " ball   carry\n 118.4  164.1\n 120    166\n", 2},
		{"a row of units, and a mean", "format: csv\ncsv: {units: true}\nskip_rows: [{column: no, matches: \"^(mean|average)\"}]", "ball",
			"carry",
			"no,ball,carry\n,mph,yd\n1,118.4,164.1\n2,120,166\nMean,119.2,165\n", 2},
		{"some kinds alone", "format: csv\nkeep_rows: [{column: kind, matches: \"^full$\"}]", "ball", "carry",
			"kind,ball,carry\nfull,118.4,164.1\nputt,5,6\nFull,120,166\n", 2},
		{"comments of two kinds", "format: csv\ncomment: [\"#\", \"//\"]", "ball", "carry", "# a\nball,carry\n// b\n118.4,164.1\n120,166\n", 2},
		{"line ends within quotes", "format: csv\ncsv: {multiline: true}", "ball", "carry",
			"ball,carry,note\n118.4,164.1,\"felt\nheavy\"\n120,166,\n", 2},
		{"another version's names", "format: csv", "[Ball, Ball Speed]", "[Carry, Carry Flat]", "Ball Speed,Carry Flat\n118.4,164.1\n120,166\n",
			2},
	} {
		m := parsed(t, head(c.format)+fmt.Sprintf(tail, c.ball, c.carry))
		want, _, err := ParseAll(m, "f", strings.NewReader(c.text), testStamp)
		if err != nil || len(want) != c.entries {
			t.Errorf("%s: %d entries of %d, %v", c.name, len(want), c.entries, err)
			continue
		}
		for i, e := range want {
			ball, _ := e.Get(event.Field_FIELD_BALL_SPEED)
			carry, _ := e.Get(event.Field_FIELD_CARRY)
			wantBall, wantCarry := []float64{118.4, 120}[i]*.44704, []float64{164.1, 166}[i]*.9144
			if !e.Valid() || ball-wantBall > 1e-9 || wantBall-ball > 1e-9 || carry-wantCarry > 1e-9 || wantCarry-carry > 1e-9 {
				t.Errorf("%s: shot %d has %v and %v: %v", c.name, i+1, ball, carry, e.Faults)
			}
		}
		for cut := 0; cut <= len(c.text); cut += 3 {
			if m.kind == "keys" && m.records == recordFile {
				break // a file is whole or not
			}
			same(t, fmt.Sprintf("%s cut at %d", c.name, cut),
				drainGrowing(t, m, "f", []byte(c.text), []int{cut}, func(int) bool { return cut%2 == 0 }), want)
		}
	}
}

// TestCells reads what a cell and its neighbours say.
func TestCells(t *testing.T) {
	for _, c := range []struct {
		field, cells string
		want         float64
		none         bool
	}{
		{"{column: a, unit: deg, sign: target, side: {column: b, positive: [right], negative: [left]}}", "3.2,Left", -3.2, false},
		{"{column: a, unit: deg, zero: missing}", "0.0,x", 0, true},
		{"{column: a, unit: deg, missing: [\"999\"]}", "999,x", 0, true},
		{"{column: a, unit: deg, scale: 0.1}", "32,x", 3.2, false},
		{"{column: a, unit: deg, offset: -90}", "93.2,x", 3.2, false},
		{"{column: a, unit: deg, pattern: \"dir ([-0-9.]+)\"}", "dir 3.2 of 5,x", 3.2, false},
		{"{column: a, unit_column: b}", "0.1,rad", .1 * 57.29577951308232, false},
	} {
		m := parsed(t, "map: 1\ndevice: alder\nrole: ball\nformat: csv\nshot_id: {scope: device}\nfields:\n  ball_speed: {column: c, unit: "+
			"m/s}\n  launch_direction: "+c.field+"\n")
		entries, _, err := ParseAll(m, "f", strings.NewReader("a,b,c\n"+c.cells+",50\n"), testStamp)
		if err != nil || len(entries) != 1 || !entries[0].Valid() {
			t.Errorf("%s: %v %v", c.field, entries, err)
			continue
		}
		got, has := entries[0].Get(event.Field_FIELD_LAUNCH_DIRECTION)
		if has == c.none || got-c.want > 1e-9 || c.want-got > 1e-9 {
			t.Errorf("%s of %q: %v %v, want %v", c.field, c.cells, got, has, c.want)
		}
	}
	m := parsed(t, "map: 1\ndevice: alder\nrole: roll\nformat: csv\ncsv: {delimiter: \";\"}\nshot_id: {scope: device}\nfields:\n  "+
		"putt_distance: {column: a, unit: ft}\n")
	entries, _, _ := ParseAll(m, "f", strings.NewReader("a\n12' 6\"\n12 ft 6 in\n12'6\n"), testStamp)
	for _, e := range entries {
		if v, _ := e.Get(event.Field_FIELD_PUTT_DISTANCE); v-12.5*.3048 > 1e-9 || 12.5*.3048-v > 1e-9 {
			t.Errorf("%q is %v m: %v", e.Raw, v, e.Faults)
		}
	}
}
