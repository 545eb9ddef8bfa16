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
)

// say runs one command line and returns its exit code and outputs.
func say(stdin string, args ...string) (int, string, string) {
	var out, errs bytes.Buffer
	code := run(context.Background(), args, strings.NewReader(stdin), &out, &errs)
	return code, out.String(), errs.String()
}

// keys reads a JSON object's numbers at dotted paths; null and absent are NaN.
func keys(t *testing.T, text string, paths ...string) []float64 {
	t.Helper()
	var root any
	if err := json.Unmarshal([]byte(text), &root); err != nil {
		t.Fatalf("%v in %s", err, text)
	}
	var out []float64
	for _, p := range paths {
		at := root
		for _, k := range strings.Split(p, ".") {
			m, _ := at.(map[string]any)
			at = m[k]
		}
		v, ok := at.(float64)
		if !ok {
			v = math.NaN()
		}
		out = append(out, v)
	}
	return out
}

const driverFile = "../../testdata/dispersion/driver.csv"

func TestDispersionJSON(t *testing.T) {
	code, out, errs := say("", "dispersion", driverFile, "--target", "60mx30m", "--green", "20x15@5,-3", "--json")
	if code != 0 {
		t.Fatalf("exit %d: %s", code, errs)
	}
	want := map[string]float64{ // from golden.R
		"n": 24, "mean.carry_m": 218.0125, "mean.offline_m": -2.8208, "direction_sd_deg": 3.14864, "carry_sd_pct": 6.16712,
		"spread_ln": 5.03937, "spread_var": 0.0465032, "ellipse.p": 0.95, "ellipse.semi_major_m": 36.98619, "ellipse.semi_minor_m": 29.26341,
		"ellipse.tilt_deg": -8.89989, "ellipse.area_m2": 3400.278, "sd.carry_m": 13.44507, "robust.mishits": 2,
	}
	for path, v := range want {
		if got := keys(t, out, path)[0]; !(math.Abs(got-v) <= 1e-4*math.Max(1, math.Abs(v))) {
			t.Errorf("%s = %g, want %g", path, got, v)
		}
	}
	for _, path := range []string{"r50_m", "r95_m", "worst_tenth_m", "strike.n", "intervals.r95_m.low"} {
		if v := keys(t, out, path)[0]; !(v > 0) {
			t.Errorf("%s = %g", path, v)
		}
	}
}

func TestDispersionSaysNotYet(t *testing.T) {
	code, out, errs := say("carry_m,offline_m\n150,2\n152,-3\n149,1\n", "dispersion", "-", "--category", "iron", "--json")
	if code != 0 {
		t.Fatalf("exit %d: %s", code, errs)
	}
	got := keys(t, out, "mean.carry_m", "spread_ln", "ellipse", "robust.mishits", "intervals.spread_ln.more", "robust.more")
	if math.IsNaN(got[0]) || !math.IsNaN(got[1]) || !math.IsNaN(got[2]) || !math.IsNaN(got[3]) || got[4] != 2 || got[5] != 17 {
		t.Errorf("%v", got)
	}
	if code, out, _ = say("carry_m,offline_m\n", "dispersion", "-"); code != 0 || !strings.Contains(out, "not yet: 3 more shots") {
		t.Errorf("exit %d: %s", code, out)
	}
	same := "carry_m,offline_m\n" + strings.Repeat("150,2\n", 25)
	if code, out, errs = say(same, "dispersion", "-", "--json"); code != 0 || !math.IsNaN(keys(t, out, "spread_ln")[0]) ||
		!strings.Contains(out, "equal") {
		t.Errorf("exit %d: %s %s", code, out, errs)
	}
}

func TestDispersionNamesBadRows(t *testing.T) {
	file := "carry_yd,offline_ft,strike_x_mm\n230,9,4\nabc,1,2\n-4,2,3\n240,,1\n235,-6\n238,NaN,1\n233,3,900\n236,0,-2\n"
	code, out, errs := say(file, "dispersion", "-", "--json")
	if code != 0 {
		t.Fatalf("exit %d: %s", code, errs)
	}
	for _, line := range []string{"line 3", "line 4", "line 5", "line 6", "line 7"} {
		if !strings.Contains(errs, line) {
			t.Errorf("%s is not named in:\n%s", line, errs)
		}
	}
	// line 8: a strike needs both values to count, and this one has no y.
	if got := keys(t, out, "n"); got[0] != 2 && got[0] != 3 {
		t.Errorf("n %v", got)
	}
	for _, bad := range [][]string{{"dispersion"}, {"dispersion", "-", "--category", "spoon"}, {"dispersion", "-", "--p", "2"},
		{"dispersion", "-", "--miss", "up=3m"}, {"dispersion", "-", "--target", "60"}, {"dispersion", "-", "--miss", "left=far"}} {
		if code, _, errs := say(file, bad...); code != 2 || errs == "" {
			t.Errorf("%v: exit %d, %s", bad, code, errs)
		}
	}
	for _, content := range []string{"", "distance,side\n1,2\n", "carry_m\n200\n", "carry_m,offline_m\nx,y\n",
		"carry_furlong,offline_m\n1,2\n"} {
		if code, _, errs := say(content, "dispersion", "-"); code != 1 || errs == "" {
			t.Errorf("%q: exit %d, %s", content, code, errs)
		}
	}
}

func TestDispersionLeftHanded(t *testing.T) {
	_, right, _ := say("", "dispersion", driverFile, "--json")
	text, err := os.ReadFile(driverFile)
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(strings.TrimSpace(string(text)), "\n")
	for i := 1; i < len(lines); i++ {
		f := strings.Split(lines[i], ",")
		if f[1] = "-" + f[1]; strings.HasPrefix(f[1], "--") {
			f[1] = f[1][2:]
		}
		lines[i] = strings.Join(f, ",")
	}
	_, left, _ := say(strings.Join(lines, "\n"), "dispersion", "-", "--left", "--json")
	if left = strings.Replace(left, "  \"mirrored\": true,\n", "", 1); left != right {
		t.Errorf("a mirrored left-hander reads differently:\n%s\n%s", right, left)
	}
}

func TestDispersionPuttsAndSwings(t *testing.T) {
	code, out, errs := say("", "dispersion", "../../testdata/dispersion/putts.csv", "--category", "putter", "--hole", "3m", "--green-speed",
		"10ft", "--json")
	if code != 0 || !(keys(t, out, "start_sd_deg.value")[0] > 0) || math.IsNaN(keys(t, out, "holed_share.value")[0]) {
		t.Errorf("exit %d: %s %s", code, errs, out)
	}
	code, out, errs = say("", "dispersion", "../../testdata/dispersion/wedges.csv", "--category", "wedge", "--json")
	if code != 0 || !strings.Contains(out, `"swing": "three-quarter"`) {
		t.Errorf("exit %d: %s %s", code, errs, out)
	}
}

func TestDispersionPicture(t *testing.T) {
	path := filepath.Join(t.TempDir(), "scatter.svg")
	if code, _, errs := say("", "dispersion", driverFile, "--svg", path); code != 0 {
		t.Fatal(errs)
	}
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	picture := string(text)
	if n := strings.Count(picture, `class="shot"`); n != 24 {
		t.Errorf("%d shots are drawn", n)
	}
	if !strings.HasPrefix(picture, "<svg") || strings.Count(picture, `class="line"`) != 1 || strings.Count(picture, `class="area"`) != 1 ||
		strings.Contains(picture, "NaN") {
		t.Error("the picture lacks its ellipses, or holds NaN")
	}
	if code, _, errs := say("carry_m,offline_m\n", "dispersion", "-", "--svg", path); code != 0 {
		t.Errorf("no shots: %s", errs)
	}
}
