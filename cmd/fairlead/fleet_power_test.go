package main

import (
	"bytes"
	"context"
	"encoding/json"
	"strings"
	"testing"
)

func TestFleetPower(t *testing.T) {
	ask := func(args ...string) (int, string, string) {
		var out, errs bytes.Buffer
		code := run(context.Background(), append([]string{"fleet", "power"}, args...), strings.NewReader(""), &out, &errs)
		return code, out.String(), errs.String()
	}
	players := func(args ...string) int {
		t.Helper()
		code, out, errs := ask(append(args, "--json")...)
		var got struct {
			Players int `json:"players"`
		}
		if err := json.Unmarshal([]byte(out), &got); err != nil || code != 0 {
			t.Fatalf("%v: exit %d, %v: %s%s", args, code, err, out, errs)
		}
		return got.Players
	}
	ten := players("--effect", "-10%")
	if ten < 10 || ten > 1000 {
		t.Errorf("a tenth tighter takes %d players", ten)
	}
	if more := players("--effect", "-5%"); more < 3*ten {
		t.Errorf("half the effect takes %d players, the whole %d", more, ten)
	}
	if long := players("--effect", "-10%", "--shots", "30"); long >= ten {
		t.Errorf("longer trials take %d players, short ones %d", long, ten)
	}
	if tails := players("--effect", "-10%", "--kurtosis", "3"); tails <= ten {
		t.Errorf("heavy tails take %d players, normal shots %d", tails, ten)
	}
	for _, line := range strings.Split(newFleetPowerCommand().Example, "\n") {
		f := strings.Fields(line)
		if code, out, errs := ask(f[3:]...); code != 0 || out == "" {
			t.Errorf("%s: exit %d: %s", line, code, errs)
		}
	}
	for want, args := range map[string][]string{
		"--effect is missing":                 nil,
		"write changes of a spread":           {"--effect", "0.1"},
		"without %":                           {"--effect", "3%", "--outcome", "carry"},
		"--shot-sd is missing":                {"--effect", "3", "--outcome", "carry"},
		"use direction":                       {"--effect", "3%", "--outcome", "luck"},
		"at least five":                       {"--effect", "3%", "--shots", "4"},
		"the effect must differ from 0":       {"--effect", "0%"},
		"nothing gets tighter by all of it":   {"--effect", "-100%"},
		"is not a number":                     {"--effect", "much"},
		"a hundred million players":           {"--effect", "0.00001%"},
		"power and alpha lie between 0 and 1": {"--effect", "3%", "--power", "1"},
	} {
		if code, _, errs := ask(args...); code != 2 || !strings.Contains(errs, want) {
			t.Errorf("%v: exit %d, want 2 and %q: %s", args, code, want, errs)
		}
	}
}
