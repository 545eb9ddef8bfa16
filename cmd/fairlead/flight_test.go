package main

import (
	"bytes"
	"context"
	"encoding/json"
	"encoding/xml"
	"errors"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// flightRun runs a command line and returns its exit code and outputs.
func flightRun(t *testing.T, stdin string, args ...string) (code int, out, errs string) {
	t.Helper()
	var o, e bytes.Buffer
	code = run(context.Background(), args, strings.NewReader(stdin), &o, &e)
	return code, o.String(), e.String()
}

// flightFields decodes a JSON object, failing when it is none.
func flightObject(t *testing.T, text string) map[string]any {
	t.Helper()
	var m map[string]any
	if err := json.Unmarshal([]byte(text), &m); err != nil {
		t.Fatalf("not JSON: %v\n%s", err, text)
	}
	return m
}

func flightNear(t *testing.T, m map[string]any, key string, want, within float64) {
	t.Helper()
	v, ok := m[key].(float64)
	if !ok || math.Abs(v-want) > within {
		t.Errorf("%s is %v, want %g ± %g", key, m[key], want, within)
	}
}

func TestFlightOneShot(t *testing.T) {
	code, out, errs := flightRun(t, "", "flight", "--ball-speed", "70m/s", "--launch", "12deg", "--spin", "2700rpm", "--axis", "10deg",
		"--model", "quintavalla", "--json")
	if code != 0 {
		t.Fatal(code, errs)
	}
	m := flightObject(t, out)
	flightNear(t, m, "carry_m", 228.91, 0.05)
	flightNear(t, m, "offline_m", 17.43, 0.05)
	for _, key := range []string{"apex_m", "hang_s", "landing_deg", "landing_speed_mps", "total_m", "flags"} {
		if _, ok := m[key]; !ok {
			t.Errorf("no %s", key)
		}
	}
	if m["total_confidence"] != "low" {
		t.Error("the total does not say that it is of low confidence")
	}
	// Units: the same shot in miles an hour and radians.
	_, other, _ := flightRun(t, "", "flight", "--ball-speed", "156.5854mph", "--launch", "0.20943951rad", "--spin", "45rps", "--axis", "10",
		"--model", "quintavalla", "--json")
	flightNear(t, flightObject(t, other), "carry_m", m["carry_m"].(float64), 0.01)
}

func TestFlightAir(t *testing.T) {
	carry := func(args ...string) float64 {
		t.Helper()
		code, out, errs := flightRun(t, "", append([]string{"flight", "--ball-speed", "72", "--launch", "14", "--spin", "3000", "--json"},
			args...)...)
		if code != 0 {
			t.Fatal(args, errs)
		}
		return flightObject(t, out)["carry_m"].(float64)
	}
	still := carry()
	if high := carry("--altitude", "1609m"); high <= still {
		t.Errorf("at altitude %g, at sea level %g", high, still)
	}
	if same := carry("--density", "1.225"); same != still {
		t.Errorf("standard density gives %g, not %g", same, still)
	}
	if humid, dry := carry("--temp", "30C", "--humidity", "90%"), carry("--temp", "86F"); humid <= dry {
		t.Errorf("humid air is lighter: %g against %g", humid, dry)
	}
	if head, tail := carry("--wind", "5m/s@0deg"), carry("--wind", "5m/s@180deg"); !(head < still && still < tail) {
		t.Errorf("head %g, still %g, tail %g", head, still, tail)
	}
	for _, bad := range [][]string{
		{"--density", "1.2", "--temp", "20"}, {"--altitude", "100", "--pressure", "990hPa"}, {"--wind", "5m/s"},
		{"--wind", "fast@0deg"}, {"--model", "none"}, {"--ground", "ice"}, {"--humidity", "60"}, {"--path", "1"}, {"extra"},
	} {
		code, _, errs := flightRun(t, "", append([]string{"flight", "--ball-speed", "72", "--launch", "14", "--spin", "3000"}, bad...)...)
		if code != 2 || errs == "" {
			t.Errorf("%v: exit %d, %q", bad, code, errs)
		}
	}
}

func TestFlightManyShots(t *testing.T) {
	csv := "id,Ball Speed (mph),launch_angle_deg,spin_rate,face\na,156,12,2700,1\nb,53m/s,17,6800,\nc,fast,1,2,\nd,-4,2,3,\ne,60,,3000,\n"
	code, out, errs := flightRun(t, csv, "flight", "--json")
	if code != 1 || !strings.Contains(errs, "3 of 5") {
		t.Errorf("exit %d, %q", code, errs)
	}
	lines := strings.Split(strings.TrimSpace(out), "\n")
	if len(lines) != 5 {
		t.Fatalf("%d lines for 5 shots:\n%s", len(lines), out)
	}
	for i, line := range lines {
		m := flightObject(t, line)
		if m["line"] != float64(i+2) || m["id"] != string("abcde"[i]) {
			t.Errorf("row %d is %v", i, m)
		}
		if _, bad := m["error"]; bad != (i >= 2) {
			t.Errorf("row %d: %v", i, m)
		}
	}
	flightNear(t, flightObject(t, lines[0]), "ball_speed_mps", 156*0.44704, 1e-4)
	flightNear(t, flightObject(t, lines[1]), "ball_speed_mps", 53, 1e-6)

	// The same shots as JSON lines give the same flights.
	ndjson := `{"id":"a","ball_speed_mph":156,"launch":12,"spin":2700}` + "\n\n" + `{"id":"b","ball_speed":"53m/s","launch_deg":17,"spin_rpm":6800,"axis":null}` + "\n" + `{"ball_speed":1` + "\n"
	code, out2, _ := flightRun(t, ndjson, "flight", "--json")
	lines2 := strings.Split(strings.TrimSpace(out2), "\n")
	if code != 1 || len(lines2) != 3 {
		t.Fatal(code, out2)
	}
	for i := range 2 {
		flightNear(t, flightObject(t, lines2[i]), "carry_m", flightObject(t, lines[i])["carry_m"].(float64), 1e-6)
	}
	if _, table, _ := flightRun(t, csv, "flight"); strings.Count(table, "\n") != 3 {
		t.Errorf("table:\n%s", table)
	}
	for _, bad := range []string{"", "  \n", "speed,launch\n1,2\n", "ball_speed_furlongs,launch,spin\n1,2,3\n",
		"ball_speed,launch,launch_deg,spin\n1,2,3,4\n"} {
		if code, _, errs := flightRun(t, bad, "flight"); code == 0 || errs == "" {
			t.Errorf("%q: exit %d, %q", bad, code, errs)
		}
	}
	if code, _, _ := flightRun(t, csv, "flight", "--launch", "12"); code != 2 {
		t.Errorf("a launch without a ball speed: exit %d", code)
	}
}

func TestFlightStandardCarry(t *testing.T) {
	args := []string{"flight", "--ball-speed", "70", "--launch", "12", "--spin", "2700", "--density", "1.0", "--measured-carry", "250m",
		"--json"}
	_, out, _ := flightRun(t, "", args...)
	m := flightObject(t, out)
	if v := m["standard_carry_m"].(float64); v >= 250 || v < 220 || m["standard_applied"] != true {
		t.Errorf("standard carry %v", m)
	}
	_, out, _ = flightRun(t, "", append(args, "--adjusted")...)
	m = flightObject(t, out)
	if m["standard_carry_m"] != 250.0 || m["standard_applied"] != false {
		t.Errorf("an adjusted carry: %v", m)
	}
}

// flightXML fails unless the file is one well-formed SVG.
func flightXML(t *testing.T, path string) {
	t.Helper()
	raw, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	d := xml.NewDecoder(bytes.NewReader(raw))
	for n := 0; ; n++ {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			if n < 10 {
				t.Error("the picture is empty")
			}
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		if e, ok := token.(xml.StartElement); ok && n == 0 && e.Name.Local != "svg" {
			t.Errorf("the picture begins with %s", e.Name.Local)
		}
	}
}

func TestFlightPicture(t *testing.T) {
	path := filepath.Join(t.TempDir(), "f.svg")
	if code, _, errs := flightRun(t, "ball_speed,launch,spin\n70,12,2700\n50,18,7000\n", "flight", "--svg", path, "--yards"); code != 0 {
		t.Fatal(errs)
	}
	flightXML(t, path)
	if code, _, errs := flightRun(t, "", "flight", "--ball-speed", "70", "--svg", filepath.Join(path, "no")); code != 1 ||
		!strings.Contains(errs, "picture") {
		t.Errorf("a picture that cannot be written: exit %d, %q", code, errs)
	}
	_, out, _ := flightRun(t, "", "flight", "--ball-speed", "70", "--launch", "12", "--json", "--path", "20")
	if p, _ := flightObject(t, out)["path"].([]any); len(p) != 20 {
		t.Errorf("%d points", len(p))
	}
}
