package evidence

import (
	"fmt"
	"strings"
	"testing"

	"fairlead/ingest/contract/glossary"
	"fairlead/ingest/contract/unit"
	"fairlead/ingest/contract/unit/table"
)

// A file is as many trials as its shots were hit in: one after another, of one name and
// after as many instructions; without places the rows follow each other.
func TestTrialsOfAFile(t *testing.T) {
	columns := []table.Column{table.Of(unit.Length, "carry"), table.Of(unit.Ratio, "position"), table.Of(unit.Ratio, "instructions"),
		table.Words("trial")}
	for text, want := range map[string]string{
		"carry_m,position\n140,1\n141,2\n142,3\n":                      "f 3",
		"carry_m,position\n140,1\n141,2\n142,5\n":                      "f 2, f 1",
		"carry_m,position\n140,1\n141,3\n142,4\n143,2\n":               "f 1, f 2, f 1",
		"carry_m\n140\n141\n142\n":                                     "f 3",
		"carry_m,trial\n140,a\n141,a\n142,b\n143,a\n":                  "f a 2, f b 1, f a 1",
		"carry_m,instructions\n140,0\n141,1\n142,1\n":                  "f 1, f 2",
		"carry_m,position\n140,1\n141,1.5\n142,2\n":                    "f 2; line 3: position and instructions are whole numbers",
		"carry_m,position\n140,1\n141,2\n142,2\n143,3\n144,4\n":        "f 2, f 3",
		"carry_m,instructions\n140,0\n141,0.5\n142,0\n":                "f 2; line 3: position and instructions are whole numbers",
		"carry_m,position,trial\n140,1,a\n141,2,a\n142,3,b\n1e9,4,b\n": "f a 2, f b 1; line 5: carry_m 1e+09",
	} {
		file, err := table.ReadPartial(strings.NewReader(text), "f", columns, "carry")
		if err != nil {
			t.Fatal(err)
		}
		var told []string
		for _, trial := range TrialsOf(file, false) {
			told = append(told, fmt.Sprintf("%s %d", trial.Name, len(trial.Shots)))
		}
		got := strings.Join(told, ", ")
		for _, out := range file.Out {
			got += fmt.Sprintf("; line %d: %s", out.Line, out.Reason)
		}
		if !strings.HasPrefix(got, want) || !strings.Contains(want, "1e+09") && got != want {
			t.Errorf("%q: %s, not %s", text, got, want)
		}
	}
}

// More than an eighth of all shots as mishits is said to leave doubt; an eighth is not.
func TestManyMishitsLeaveDoubt(t *testing.T) {
	shots := make([]placed, 16)
	for odd, want := range map[int]int{0: 0, 1: 1, 2: 1, 3: 2} {
		r := &Report{Category: glossary.Iron}
		r.hedge(shots, shots[odd:], Options{})
		if len(r.Doubts) != want {
			t.Errorf("%d of 16: %q", odd, r.Doubts)
		}
	}
}
