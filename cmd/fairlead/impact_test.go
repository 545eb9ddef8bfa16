package main

import (
	"math"
	"strings"
	"testing"
)

func TestImpactAsPublished(t *testing.T) {
	code, out, errs := flightRun(t, "", "impact", "--head-speed", "45", "--dynamic-loft", "13.1", "--attack", "0", "--path", "0", "--face",
		"0", "--head-mass", "200g", "--json")
	if code != 0 {
		t.Fatal(errs)
	}
	m := flightObject(t, out)
	flightNear(t, m, "e", 0.7329, 0.0005)
	flightNear(t, m, "ball_speed_mps", 61.83, 0.06)
	flightNear(t, m, "launch_deg", 10.565, 0.01)
	flightNear(t, m, "spin_rpm", 3058, 3)
	_, out, _ = flightRun(t, "", "impact", "--head-speed", "45", "--dynamic-loft", "13", "--attack", "-1", "--face", "3", "--json")
	flightNear(t, flightObject(t, out), "axis_deg", 11.90, 0.012)
	_, out, _ = flightRun(t, "", "impact", "--head-speed", "45", "--dynamic-loft", "0", "--strike-x", "20mm", "--head-inertia", "5000gcm2",
		"--e", "0.83", "--json")
	flightNear(t, flightObject(t, out), "smash", 1.445, 0.001)
}

func TestImpactChange(t *testing.T) {
	code, out, errs := flightRun(t, "", "impact", "--head-speed", "100mph", "--attack", "2", "--dynamic-loft", "15", "--category", "driver",
		"--before", "attack=-2deg,dynamic-loft=13deg, strike-y=-8mm", "--json")
	if code != 0 {
		t.Fatal(errs)
	}
	change := flightObject(t, out)["change"].(map[string]any)
	whole := change["whole"].(map[string]any)
	var carry float64
	moved := map[string]bool{}
	for _, p := range change["parts"].([]any) {
		p := p.(map[string]any)
		carry += p["carry_m"].(float64)
		moved[p["factor"].(string)] = p["launch_deg"] != 0.0
	}
	if math.Abs(carry-whole["carry_m"].(float64)) > 1e-4 {
		t.Errorf("the parts carry %g, the whole %v", carry, whole)
	}
	if !moved["attack"] || !moved["dynamic loft"] || !moved["strike"] || moved["clubhead speed"] || moved["face and path"] {
		t.Errorf("moved: %v", moved)
	}
}

func TestImpactTableSaysWhatItIs(t *testing.T) {
	for _, args := range [][]string{{}, {"--json"}} {
		code, out, errs := flightRun(t, "", append([]string{"impact", "--head-speed", "45", "--table"}, args...)...)
		if code != 0 || !strings.Contains(out, "not measured") || !strings.Contains(out, "7-iron") {
			t.Errorf("%v: exit %d, %s%s", args, code, out, errs)
		}
	}
}

func TestImpactBadInput(t *testing.T) {
	for _, bad := range [][]string{
		{}, {"--head-speed", "45"}, {"--head-speed", "-45", "--dynamic-loft", "13"}, {"--head-speed", "NaN", "--dynamic-loft", "13"},
		{"--head-speed", "45", "--dynamic-loft", "13", "--category", "spoon"}, {"--head-speed", "45", "--dynamic-loft", "13", "--e", "-1"},
		{"--head-speed", "45", "--dynamic-loft", "13", "--head-mass", "9kg"},
		{"--head-speed", "45", "--dynamic-loft", "13", "--before", "attack"},
		{"--head-speed", "45", "--dynamic-loft", "13", "--before", "lie=3"},
		{"--head-speed", "45", "--dynamic-loft", "13", "--before", "attack=slow"},
		{"--head-speed", "45", "--dynamic-loft", "13", "--strike-x", "1m"}, {"--head-speed", "45", "--table", "--dynamic-loft", "10"},
	} {
		if code, _, errs := flightRun(t, "", append([]string{"impact"}, bad...)...); code != 2 || errs == "" {
			t.Errorf("%v: exit %d, %q", bad, code, errs)
		}
	}
}
