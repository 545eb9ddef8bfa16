package journal

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// golden holds the journals of a bay as the first version of the format wrote
// them: one that ended because a bit of its third record had flipped, and its
// successor. FAIRLEAD_WRITE_GOLDEN=1 writes it again, for a new format, into a
// folder of that format's own.
var golden = filepath.Join("..", "..", "..", "testdata", "journal", fmt.Sprintf("format%d", formatMajor))

func writeGolden(t *testing.T) {
	o := Options{Dir: golden, SegmentBytes: minSegmentBytes}
	j, _ := openJournal(t, o)
	for i := 1; i <= 5; i++ {
		mustAppend(t, j, text(fmt.Sprintf("north shot %d", i), "range"))
	}
	path := j.active().tail().path
	j.Close()
	raw, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	raw[strings.Index(string(raw), "north shot 3")] ^= 1
	if err := os.WriteFile(path, raw, 0o644); err != nil {
		t.Fatal(err)
	}
	j, _ = openJournal(t, o)
	mustAppend(t, j, text("south of it 1", "range"), text("south of it 2", "range"))
	j.Close()
}

// What an earlier version wrote can be read for as long as bays may hold it.
func TestGolden(t *testing.T) {
	if os.Getenv("FAIRLEAD_WRITE_GOLDEN") == "1" {
		writeGolden(t)
	}
	dir := copyDir(t, golden)
	j, report := openJournal(t, Options{Dir: dir})
	if report.Began != "" || report.QuarantinedRecords() != 1 || report.Quarantined[0].First != 3 ||
		!errors.Is(report.Quarantined[0], ErrDamaged) {
		t.Fatalf("%+v", report)
	}
	infos := j.Journals()
	if len(infos) != 2 || infos[1].Reason != "damage in the one before" || infos[0].Bay != "north" || infos[0].Studio != "Harbour Row" {
		t.Fatalf("%+v", infos)
	}
	if got := fmt.Sprint(readAll(t, j, infos[0].ID)); got != "map[1:north shot 1 2:north shot 2 4:north shot 4 5:north shot 5]" {
		t.Error(got)
	}
	if got := fmt.Sprint(readAll(t, j, infos[1].ID)); got != "map[1:south of it 1 2:south of it 2]" {
		t.Error(got)
	}
	if p := string(j.Positions()["range"]); p != "south of it 2" {
		t.Errorf("position %q", p)
	}
	if seq := mustAppend(t, j, text("on")); seq != 3 {
		t.Errorf("goes on with %d", seq)
	}
}
