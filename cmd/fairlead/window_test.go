package main

import (
	"path/filepath"
	"strings"
	"testing"
)

func TestWindowCommand(t *testing.T) {
	svg := filepath.Join(t.TempDir(), "w.svg")
	code, out, errs := flightRun(t, "", "window", "--ball-speed", "156mph", "--attack", "-1", "--launch", "13deg", "--spin", "4800rpm",
		"--svg", svg, "--json")
	if code != 0 {
		t.Fatal(errs)
	}
	m := flightObject(t, out)
	best, now := m["best"].(map[string]any), m["present"].(map[string]any)
	loss := now["loss_m"].(float64)
	if loss < 5 || now["in_window"] != false || best["in_window"] != true || best["loss_m"] != 0.0 {
		t.Errorf("best %v, now %v", best, now)
	}
	flightNear(t, now, "carry_m", best["carry_m"].(float64)-loss, 1e-4)
	flightNear(t, m, "window_loss_m", 0.02*best["carry_m"].(float64), 1e-4)
	if _, ok := m["loft_sensitivity"].(map[string]any)["carry_m_per_deg"]; !ok {
		t.Error("no sensitivity")
	}
	flightXML(t, svg)

	code, out, _ = flightRun(t, "", "window", "--ball-speed", "156mph", "--attack", "-1", "--launch", "13deg", "--spin", "4800rpm")
	if code != 0 || !strings.Contains(out, "That spin costs") || !strings.Contains(out, "yd") {
		t.Errorf("exit %d:\n%s", code, out)
	}
	code, out, errs = flightRun(t, "", "window", "--ball-speed", "52", "--attack", "-4", "--category", "iron", "--goal", "green", "--carry",
		"145m", "--json", "--surface")
	if code != 0 {
		t.Fatal(errs)
	}
	m = flightObject(t, out)
	flightNear(t, m, "wanted_carry_m", 145, 1e-9)
	if m["run_confidence"] != "low" || len(m["surface"].([]any)) < 100 {
		t.Error("no surface, or a confident run")
	}
}

func TestWindowBadInput(t *testing.T) {
	for want, bads := range map[int][][]string{
		2: {
			{}, {"--ball-speed", "-3"}, {"--ball-speed", "60", "--attack", "90"}, {"--ball-speed", "60", "--launch", "12"},
			{"--ball-speed", "60", "--goal", "height"}, {"--ball-speed", "60", "--category", "putter"},
			{"--ball-speed", "60", "--category", "spoon"},
			{"--ball-speed", "60", "--carry", "150"},
		},
		1: {{"--ball-speed", "40", "--category", "iron", "--goal", "green", "--carry", "250m"}},
	} {
		for _, bad := range bads {
			if code, _, errs := flightRun(t, "", append([]string{"window"}, bad...)...); code != want || errs == "" {
				t.Errorf("%v: exit %d, %q", bad, code, errs)
			}
		}
	}
}
