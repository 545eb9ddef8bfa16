package main

import (
	"bytes"
	"context"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/spf13/cobra"

	"fairlead/processors/golf/club"
	"fairlead/processors/golf/profile"
)

// inClubDir moves the test to a fresh folder that holds the repository's testdata.
func inClubDir(t *testing.T) {
	t.Helper()
	data, err := filepath.Abs(filepath.Join("..", "..", "testdata"))
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	if err := os.Symlink(data, filepath.Join(dir, "testdata")); err != nil {
		t.Fatal(err)
	}
	t.Chdir(dir)
}

// runClub runs a command line as a shell would, split at blanks.
func runClub(t *testing.T, line, stdin string) (code int, stdout, stderr string) {
	t.Helper()
	var out, errs bytes.Buffer
	code = run(context.Background(), strings.Fields(line), strings.NewReader(stdin), &out, &errs)
	return code, out.String(), errs.String()
}

func clubJSON(t *testing.T, line, stdin string, into any) {
	t.Helper()
	code, out, errs := runClub(t, line, stdin)
	if code != 0 {
		t.Fatalf("%s: exit %d: %s", line, code, errs)
	}
	if err := json.Unmarshal([]byte(out), into); err != nil {
		t.Fatalf("%s: %v in %s", line, err, out)
	}
}

// Every example works as printed.
func TestClubAndProfileExamples(t *testing.T) {
	inClubDir(t)
	tried := 0
	var walk func(c *cobra.Command)
	walk = func(c *cobra.Command) {
		for _, line := range strings.Split(c.Example, "\n") {
			line = strings.TrimSpace(line)
			rest, ok := strings.CutPrefix(line, "fairlead ")
			if !ok {
				t.Errorf("%s: example %q does not start with fairlead", c.Name(), line)
				continue
			}
			tried++
			if code, out, errs := runClub(t, rest, ""); code != 0 || out == "" {
				t.Errorf("%s: exit %d, %d bytes, %s", line, code, len(out), errs)
			}
		}
		for _, sub := range c.Commands() {
			walk(sub)
		}
	}
	walk(newClubCommand())
	walk(newProfileCommand())
	if tried < 15 {
		t.Errorf("only %d examples", tried)
	}
	svg, err := os.ReadFile("bag.svg")
	if err != nil || !bytes.Contains(svg, []byte("</svg>")) {
		t.Errorf("the gapping example left no picture: %v", err)
	}
}

func TestClubSwingWeightJSON(t *testing.T) {
	var got struct {
		Swing    string  `json:"swing_weight"`
		Balance  float64 `json:"balance_m"`
		Moment   float64 `json:"moment_kgm"`
		Points   float64 `json:"change_points"`
		PerPoint struct {
			Head float64 `json:"head_kg"`
		} `json:"per_point"`
		Target struct {
			Head float64 `json:"head_kg"`
		} `json:"target"`
	}
	clubJSON(t, "club swingweight --length 45in --head 200g --shaft 65g --grip 50g --add-head 2g --to D5 --json", "", &got)
	if got.Swing != "D3.4" || math.Abs(got.Balance/0.0254-33.746) > 1e-3 || math.Abs(got.PerPoint.Head*1e3-1.6) > 0.01 {
		t.Errorf("%+v", got)
	}
	if math.Abs(got.Points-2/1.6) > 0.01 || math.Abs(got.Target.Head*1e3-202.6) > 0.1 {
		t.Errorf("2 g of head: %+v", got)
	}
	var si struct {
		Swing string `json:"swing_weight"`
	}
	clubJSON(t, "club swingweight --length 1.143 --head 0.2 --shaft 0.065 --grip 0.05 --json", "", &si)
	if si.Swing != got.Swing {
		t.Errorf("bare SI gives %s, inches and grams %s", si.Swing, got.Swing)
	}
}

func TestClubGappingJSON(t *testing.T) {
	inClubDir(t)
	var got club.GappingAccount
	clubJSON(t, "club gapping testdata/club/bag.csv --json", "", &got)
	verdicts := map[string]string{}
	for _, g := range got.Gaps {
		verdicts[g.Longer+"/"+g.Shorter] = g.Verdict
	}
	if verdicts["5w/4h"] != "hole" || verdicts["7i/8i"] != "overlap" || verdicts["sw/lw"] != "not yet" {
		t.Errorf("%v", verdicts)
	}
	if got.LongestIron == nil || *got.LongestIron != "6i" {
		t.Errorf("longest iron that holds: %v", got.LongestIron)
	}
	// The same shots in yards are the same bag.
	var yards club.GappingAccount
	clubJSON(t, "club gapping - --json", "club,carry_yd\n7i,150\n7i,151\n7i,152\n7i,153\n8i,140\n", &yards)
	if c := yards.Full[0]; math.Abs(c.Carry-151.5*0.9144) > 1e-9 || yards.Gaps[0].Verdict != "not yet" || yards.Gaps[0].More != 3 ||
		yards.Full[1].CarrySD != nil {
		t.Errorf("%+v", yards)
	}
}

func TestProfileJSON(t *testing.T) {
	inClubDir(t)
	var got profile.ComparisonAccount
	clubJSON(t, "profile testdata/profile/spring.csv testdata/profile/next_spring.csv --left --loft 12.5deg --json", "", &got)
	for _, c := range got.Changes {
		if (c.Verdict == "changed") != (c.Term == "attack") {
			t.Errorf("%s: %s", c.Term, c.Verdict)
		}
	}
	if len(got.Implications) != 1 || !strings.Contains(got.Implications[0].Text, "2.0° weak") {
		t.Errorf("implications %+v", got.Implications)
	}
	for _, term := range got.Before.Terms {
		if term.Term == "path" && !(*term.Mean > 2) {
			t.Errorf("a left-hander's path of −3° is not shown in-to-out: %v", *term.Mean)
		}
	}
	var a, b profile.Account
	clubJSON(t, "profile testdata/profile/spring.csv --left --half a --json", "", &a)
	clubJSON(t, "profile testdata/profile/spring.csv --left --half b --json", "", &b)
	if a.Shots+b.Shots != got.Before.Shots || len(a.Vector.Names) == 0 || a.Vector.Values[0] == b.Vector.Values[0] {
		t.Errorf("halves of %d and %d shots", a.Shots, b.Shots)
	}
	var few profile.Account
	clubJSON(t, "profile - --json", "speed_mph\n95\n96\n", &few)
	if few.Terms[0].Known || few.Terms[0].More != 2 || few.Terms[0].Mean != nil {
		t.Errorf("two shots: %+v", few.Terms[0])
	}
}

// What is wrong is said with its place and a way out; wrong use exits with 2.
func TestClubAndProfileRefuse(t *testing.T) {
	inClubDir(t)
	for _, c := range []struct {
		line, stdin string
		code        int
		says        string
	}{
		{"club swing", "", 2, "unknown club command"},
		{"club swingweight", "", 2, "club length"},
		{"club swingweight --length 45in --head 200 --shaft 65g", "", 2, "head mass 200 kg"},
		{"club swingweight --length 45deg", "", 2, "not a unit of length"},
		{"club swingweight --mass 400g", "", 2, "--balance"},
		{"club swingweight --length 45in --head 200g --shaft 65g --to Z9", "", 2, "letter A to G"},
		{"club ladder --fit 7i", "", 2, "7i=37.25in"},
		{"club ladder --fit 99i=37in", "", 2, "not in the set"},
		{"club ladder --match feel", "", 2, "swingweight or inertia"},
		{"club error --loft 36deg", "", 2, "--lie-error"},
		{"club gapping", "", 2, "one CSV file"},
		{"club gapping none.csv", "", 1, "none.csv"},
		{"club gapping -", "", 1, "empty"},
		{"club gapping -", "a,b\n1,2\n", 1, "no column is known"},
		{"club gapping -", "club,carry_m\n7i,140\n7i,far\n", 1, "line 3"},
		{"club gapping -", "club,carry_m\n7i,NaN\n", 1, "line 2"},
		{"club gapping -", "club,carry_m\n,140\n", 1, "no club"},
		{"club gapping -", "club,carry_m\nold one,140\n", 1, "category"},
		{"club gapping -", "club,carry_deg\n7i,1\n", 1, "not a unit of length"},
		{"club gapping -", "club,carry_m,carry_yd\n7i,1,1\n", 1, "mean the same"},
		{"club gapping - --min-gap 50yd", "club,carry_m\n7i,140\n", 2, "largest gap"},
		{"club check testdata/club/built.csv", "", 1, "2 of 5"},
		{"club check -", "club,figure,wanted,built\n7i,colour,1,2\n", 1, "no such figure"},
		{"club check - --tolerance loft", "", 2, "loft=0.25deg"},
		{"club cautions juggle", "", 2, "not known"},
		{"profile", "", 2, "baseline"},
		{"profile - -", "", 2, "standard input"},
		{"profile - --category putter", "speed_mps\n40\n", 2, "no full swing"},
		{"profile - --half c", "speed_mps\n40\n", 2, "a or b"},
		{"profile - --differs weather", "speed_mps\n40\n", 2, "ball, surface or device"},
		{"profile -", "speed\n40\n95\n", 1, "shot 2"},
		{"profile - --loft 1", "speed\n40\n", 2, "loft of the build"},
	} {
		code, out, errs := runClub(t, c.line, c.stdin)
		if code != c.code || !strings.Contains(errs, c.says) {
			t.Errorf("%s: exit %d, %q; want %d and %q", c.line, code, errs, c.code, c.says)
		}
		if strings.Contains(out, "NaN") {
			t.Errorf("%s writes NaN", c.line)
		}
	}
}
