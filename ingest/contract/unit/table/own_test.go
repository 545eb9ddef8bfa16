package table

import (
	"strings"
	"testing"

	"fairlead/ingest/contract/unit"
)

// The program's own export of shots is read as it is: rows that do not count are
// left out, columns that only begin alike are passed over.
func TestTheOwnExportIsReadByItsRowsThatCount(t *testing.T) {
	columns := []Column{Of(unit.Length, "carry"), Of(unit.Angle, "landing", "landing_angle"), Words("club", "build_name")}
	head := "shot_id,status,build_name,carry_m,carry_air,landing_angle_deg,landing_carry_m\n"
	file := head + "a,counts,7i,150,as flown,45,150\nb,practice,7i,20,,,\nc,counts,7i,\\N,,44,\\N\n"
	rows, err := Read(strings.NewReader(file), "shots.csv", columns)
	if err != nil || len(rows) != 2 || rows[0].Text("club") != "7i" || rows[1].Cells["carry"].Known || rows[1].Cells["landing"].V != 44 {
		t.Errorf("%v %v", rows, err)
	}
	part, err := ReadPartial(strings.NewReader(file), "shots.csv", columns)
	if err != nil || len(part.Rows) != 2 || len(part.Out) != 1 || !strings.Contains(part.Out[0].Reason, "practice") {
		t.Errorf("%+v %v", part, err)
	}
	if _, err := Read(strings.NewReader(head+"b,practice,7i,20,,,\n"), "shots.csv", columns); err == nil ||
		!strings.Contains(err.Error(), "none of its 1 shots counts") {
		t.Errorf("nothing counts: %v", err)
	}
	if rows, err := Read(strings.NewReader("status,carry_m\npractice,20\n"), "own.csv", columns); err != nil || len(rows) != 1 {
		t.Errorf("another's table with a status: %v %v", rows, err)
	}
}
