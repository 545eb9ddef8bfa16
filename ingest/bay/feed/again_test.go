package feed

import (
	"strings"
	"testing"
	"time"

	"google.golang.org/protobuf/proto"

	"fairlead/ingest/contract/event"
)

const wrongMap = `map: 1
device: alder
role: ball
format: csv
preamble: {Session: "^Session (.+)$"}
comment: "#"
shot_id: {columns: [Session, No]}
fields:
  carry: {column: Carry, unit: m}
  offline: {column: Side, unit: m}
`

const againFile = "Session A\nNo,Carry,Side\n1,164.1,2\n2,160,L3\nAverage,162,2.5\n# firmware 2\n3,150,1\nSession " +
	"B\nSide,No,Carry\n4,1,155\n"

// again reads entries again and returns the turns and what is to be added.
func again(t *testing.T, fields, layout string, stood map[uint64][]*event.Entry, originals []*event.Entry, at int64) (turns []Turn) {
	t.Helper()
	a := NewAgain(parsed(t, fields), layout)
	for i, e := range originals {
		now := stood[e.Line]
		if now == nil {
			now = []*event.Entry{originals[i]}
		}
		turn, add := a.Line(e, now, time.Unix(at, 0))
		if add != nil {
			stood[e.Line] = add
		}
		turns = append(turns, turn)
	}
	return turns
}

// TestLinesAreReadAgain: the entries of a wrong map alone, without their file,
// become what the corrected map would have made of the file; and back.
func TestLinesAreReadAgain(t *testing.T) {
	originals, _, err := ParseAll(parsed(t, wrongMap), "f.csv", strings.NewReader(againFile), testStamp)
	if err != nil || len(originals) != 5 {
		t.Fatal(originals, err)
	}
	for _, e := range originals {
		e.EffectiveUnixNs, e.Boot = 77+int64(e.Line), "b"
	}
	right := strings.NewReplacer("unit: m}", "unit: yd}", "column: Side, unit: m",
		"column: Side, unit: yd, letters: {positive: [R], negative: [L]}, optional: true",
		"fields:", "skip_rows: [{column: No, matches: ^average}]\nnumbers: {}\nfields:").Replace(wrongMap)
	right = strings.Replace(right, "unit: yd, letters: {positive: [R], negative: [L]}, optional: true}", "unit: yd, pattern: \"([0-9.]+)\"}",
		1)
	want, _, err := ParseAll(parsed(t, right), "f.csv", strings.NewReader(againFile), testStamp)
	if err != nil || len(want) != 4 {
		t.Fatal(want, err)
	}
	stood := map[uint64][]*event.Entry{}
	turns := again(t, right, "", stood, originals, 900)
	for i, w := range []Turn{Changed, Returned, Withdrawn, Changed, Changed} {
		if turns[i] != w {
			t.Errorf("line %d: turn %d, want %d", originals[i].Line, turns[i], w)
		}
	}
	if e := stood[5]; len(e) != 1 || !e[0].Deleted || e[0].RereadUnixNs != 900e9 || string(e[0].ShotId) != string(originals[2].ShotId) {
		t.Errorf("the average: %v", e)
	}
	for _, w := range want {
		got := stood[w.Line]
		if len(got) != 1 {
			t.Fatalf("line %d: %v", w.Line, got)
		}
		if !alike(got[0], w) || got[0].ID() != w.ID() || got[0].EffectiveUnixNs != 77+int64(w.Line) || got[0].Boot != "b" ||
			string(got[0].Raw) != string(w.Raw) {
			t.Errorf("line %d: %v\n want %v", w.Line, got[0], w)
		}
	}
	for i, turn := range again(t, right, "", stood, originals, 950) {
		if turn != Same {
			t.Errorf("read a second time, line %d: turn %d", originals[i].Line, turn)
		}
	}
	for i, turn := range again(t, wrongMap, "", stood, originals, 990) {
		if w := []Turn{Changed, Withdrawn, Returned, Changed, Changed}[i]; turn != w {
			t.Errorf("back, line %d: turn %d, want %d", originals[i].Line, turn, w)
		}
	}
}

// TestAgainWithoutAHeader: entries of before their layout was kept need it given.
func TestAgainWithoutAHeader(t *testing.T) {
	originals, _, _ := ParseAll(parsed(t, wrongMap), "f.csv", strings.NewReader("Session A\nNo,Carry,Side\n1,164.1,2\n"), testStamp)
	originals[0].Layout = ""
	right := strings.ReplaceAll(wrongMap, "unit: m", "unit: yd")
	if turns := again(t, right, "", map[uint64][]*event.Entry{}, originals, 900); turns[0] != Headless {
		t.Errorf("turn %d without a header", turns[0])
	}
	if turns := again(t, right, "Session A\nNo,Carry,Side", map[uint64][]*event.Entry{}, originals, 900); turns[0] != Changed {
		t.Errorf("turn %d with a header", turns[0])
	}
}

// TestAnotherNumberWithdrawsTheFirst: the shot id stood in another column.
func TestAnotherNumberWithdrawsTheFirst(t *testing.T) {
	const one = "map: 1\ndevice: alder\nrole: ball\nformat: ndjson\nshot_id: {column: a}\nfields: {carry: {column: c, unit: m}}\n"
	originals, _, _ := ParseAll(parsed(t, one), "f", strings.NewReader(`{"a":1,"b":7,"c":150}`+"\n"+`{"b":8,"c":151}`+"\n"), testStamp)
	two := strings.Replace(one, "column: a", "column: b", 1)
	stood := map[uint64][]*event.Entry{}
	turns := again(t, two, "", stood, originals, 900)
	if turns[0] != Renamed || len(stood[1]) != 2 || !stood[1][0].Deleted || stood[1][1].ID() != event.ShotIDFor("alder", "7") {
		t.Errorf("turn %d: %v", turns[0], stood[1])
	}
	if turns[1] != Returned || stood[2][0].ID() != event.ShotIDFor("alder", "8") {
		t.Errorf("turn %d: %v", turns[1], stood[2])
	}
	first := proto.CloneOf(stood[1][1])
	if turns := again(t, one, "", stood, originals, 990); turns[0] != Renamed || turns[1] != Withdrawn {
		t.Errorf("back: %v", turns)
	}
	if got := stood[1]; len(got) != 2 || !got[0].Deleted || got[0].ID() != first.ID() || got[1].ID() != originals[0].ID() {
		t.Errorf("back: %v", got)
	}
}
