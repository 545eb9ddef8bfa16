package table

import (
	"math"
	"strings"
	"testing"

	"fairlead/ingest/contract/unit"
)

var columns = []Column{Of(unit.Length, "carry"), Of(unit.Speed, "ball_speed", "speed"), Words("club")}

func TestReadPartialKeepsWhatCanBeUsed(t *testing.T) {
	p, err := ReadPartial(strings.NewReader("\ufeffcarry_yd,speed (x),club\n100,1,7i\n1,2\nfar,1,8i\n,3,9i\n"), "shots.csv", columns, "carry")
	if err != nil {
		t.Fatal(err)
	}
	if len(p.Rows) != 2 || len(p.Out) != 2 || p.Out[0].Line != 3 || p.Out[1].Line != 4 {
		t.Fatalf("%+v", p)
	}
	if v, ok := p.Rows[0].Value("carry"); !ok || math.Abs(v-91.44) > 1e-9 || p.Rows[0].Text("club") != "7i" {
		t.Errorf("%+v", p.Rows[0])
	}
	if _, ok := p.Rows[1].Value("carry"); ok || p.Rows[1].Line != 5 {
		t.Errorf("an empty cell is a value: %+v", p.Rows[1])
	}
	var said strings.Builder
	p.Warn(&said)
	if !strings.Contains(said.String(), `shots.csv line 4 left out: carry_yd: "far" is no number`) {
		t.Error(said.String())
	}
}

func TestTablesThatCannotBeRead(t *testing.T) {
	for text, want := range map[string]string{
		"":                         "is empty: write a header line with columns such as carry_m, ball_speed_mps, club",
		"carry_m,carry_yd\n1,2\n":  "mean the same: keep one",
		"carry_furlong\n1\n":       "column \"carry_furlong\"",
		"ball_speed_mps\n1\n":      "column carry is missing (found ball_speed_mps): name it with its unit, as in carry_m",
		"carry_m,club\n1\n2,a,b\n": "none of its 2 rows can be used",
		"carry_m\nNaN\n":           "none of its 1 rows can be used",
	} {
		if _, err := ReadPartial(strings.NewReader(text), "shots.csv", columns, "carry"); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %q", text, err, want)
		}
	}
	if _, err := Read(strings.NewReader("shoes\n1\n"), "bag.csv", columns); err == nil ||
		!strings.Contains(err.Error(), "no column is known: use some of carry_m") {
		t.Errorf("%v", err)
	}
	if _, err := Read(strings.NewReader("carry_m\n1\nfar\n"), "shots.csv", columns); err == nil ||
		!strings.Contains(err.Error(), "shots.csv line 3, carry_m") {
		t.Errorf("%v", err)
	}
}
