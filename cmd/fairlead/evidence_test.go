package main

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

const (
	gamerFile     = "../../testdata/evidence/gamer.csv"
	candidateFile = "../../testdata/evidence/candidate.csv"
)

func TestEvidenceGolden(t *testing.T) {
	code, out, errs := say("", "evidence", "../../testdata/evidence/ten_a.csv", "../../testdata/evidence/ten_b.csv", "--area-prior", "4,20,10",
		"--json")
	if code != 0 {
		t.Fatalf("exit %d: %s", code, errs)
	}
	got := keys(t, out, "f", "p", "delta_spread", "delta_var", "prob_tighter")
	for i, want := range []float64{1.4343, 0.4788, -0.3607, 0.26627, 0.7911} {
		if math.Abs(got[i]-want) > 1e-3 {
			t.Errorf("value %d is %g, want %g", i, got[i], want)
		}
	}
}

type outcomeRead struct {
	Name    string   `json:"name"`
	Change  *float64 `json:"change"`
	Low     *float64 `json:"ci_low"`
	High    *float64 `json:"ci_high"`
	Better  *float64 `json:"prob_better"`
	E       *float64 `json:"e_value"`
	Verdict string   `json:"verdict"`
	Needed  *struct {
		P50 *int `json:"p50"`
		P90 *int `json:"p90"`
	} `json:"shots_needed"`
	NBaseline int `json:"n_baseline"`
}

func outcomesOf(t *testing.T, text string) map[string]outcomeRead {
	t.Helper()
	var r struct {
		Outcomes []outcomeRead `json:"outcomes"`
	}
	if err := json.Unmarshal([]byte(text), &r); err != nil {
		t.Fatal(err)
	}
	out := map[string]outcomeRead{}
	for _, o := range r.Outcomes {
		out[o.Name] = o
	}
	return out
}

func TestEvidenceOutcomes(t *testing.T) {
	code, out, errs := say("", "evidence", gamerFile, candidateFile, "--json")
	if code != 0 {
		t.Fatalf("exit %d: %s", code, errs)
	}
	o := outcomesOf(t, out)
	if s := o["spin"]; s.Verdict != "better" || *s.E < 20 || !(*s.Low < *s.Change && *s.Change < *s.High && *s.High < 0) || s.NBaseline != 13 {
		t.Errorf("spin: %+v", s)
	}
	if d := o["direction"]; d.Verdict != "cannot tell yet" || d.Needed == nil {
		t.Errorf("direction: %+v", d)
	}
	// A prior moves the odds, not the e-value; a target turns spin round.
	_, prior, _ := say("", "evidence", gamerFile, candidateFile, "--prior", "carry=-10m:2m", "--target", "spin=3000rpm", "--json")
	p := outcomesOf(t, prior)
	if *p["carry"].E != *o["carry"].E || !(*p["carry"].Change < *o["carry"].Change) || p["spin"].Verdict != "worse" {
		t.Errorf("carry %+v, spin %+v", p["carry"], p["spin"])
	}
	// Told to swing differently in between: nothing is decided.
	_, told, _ := say("", "evidence", gamerFile, candidateFile, "--instruction", "--json")
	for name, v := range outcomesOf(t, told) {
		if v.Verdict != "cannot tell yet" {
			t.Errorf("%s after an instruction: %s", name, v.Verdict)
		}
	}
	if !strings.Contains(told, "club and swing changed together") {
		t.Error("the instruction is not said")
	}
	_, text, _ := say("", "evidence", gamerFile, candidateFile, "--prior", "../../testdata/evidence/prior.json")
	for _, word := range []string{"spin", "better", "left out", "warm-up"} {
		if !strings.Contains(text, word) {
			t.Errorf("%q is missing in:\n%s", word, text)
		}
	}
}

func TestEvidenceBadInput(t *testing.T) {
	file := "carry_yd,spin_rpm\n230,2500\n231,fast\n229,-3\n228,2600\n233,2550\n"
	code, out, errs := say(file, "evidence", gamerFile, "-", "--json")
	if code != 0 || !strings.Contains(errs, "- line 3") || !strings.Contains(errs, "- line 4") || !strings.Contains(out, `"line": 4`) {
		t.Errorf("exit %d: %s", code, errs)
	}
	for _, bad := range [][]string{
		{gamerFile}, {"-", "-"}, {gamerFile, "-", "--category", "spoon"}, {gamerFile, "-", "--prior", "carry=2"},
		{gamerFile, "-", "--prior", "carry=2:0"},
		{gamerFile, "-", "--prior", "roll=2:1"}, {gamerFile, "-", "--goal", "area=3"}, {gamerFile, "-", "--goal", "spin"},
		{gamerFile, "-", "--alpha", "0.7"},
		{gamerFile, "-", "--area-prior", "1,2"},
	} {
		if code, _, errs := say(file, append([]string{"evidence"}, bad...)...); code != 2 || errs == "" {
			t.Errorf("%v: exit %d, %s", bad, code, errs)
		}
	}
	if code, _, errs := say("", "evidence", gamerFile, "no-such-file.csv"); code != 1 || !strings.Contains(errs, "no-such-file.csv") {
		t.Errorf("exit %d: %s", code, errs)
	}
	twice := "carry_m,position\n200,1\n201,2\n"
	if code, _, errs := say(twice, "evidence", gamerFile, "-"); code != 1 || !strings.Contains(errs, "position 1") {
		t.Errorf("exit %d: %s", code, errs)
	}
}

func TestEvidencePicture(t *testing.T) {
	path := filepath.Join(t.TempDir(), "evidence.svg")
	if code, _, errs := say("", "evidence", gamerFile, candidateFile, "--svg", path); code != 0 {
		t.Fatal(errs)
	}
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if n := strings.Count(string(text), "<circle"); n != 10 || strings.Contains(string(text), "NaN") {
		t.Errorf("%d outcomes are drawn", n)
	}
}
