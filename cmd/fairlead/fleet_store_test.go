package main

import (
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fairlead/deploy/engine"
	"fairlead/processors/ask/enquiry"
)

// asker runs fleet commands against one store.
type asker struct {
	t   *testing.T
	dsn string
}

func (a asker) run(code int, args ...string) (out, errs string) {
	a.t.Helper()
	var o, e bytes.Buffer
	if got := run(context.Background(), append(args, "--clickhouse", a.dsn), strings.NewReader(""), &o, &e); got != code {
		a.t.Fatalf("%v: exit %d, want %d: %s%s", args, got, code, o.String(), e.String())
	}
	return o.String(), e.String()
}

func TestFleetCommandsOnAPlantedFleet(t *testing.T) {
	p, err := engine.Start(t.Context(), engine.Options{Binary: filepath.Join(filepath.Dir(program(t)), "fairlead-engine"),
		DataDir: t.TempDir(), Stderr: os.Stderr})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := p.Stop(); err != nil {
			t.Error(err)
		}
	})
	a := asker{t, p.DSN()}

	// Nothing stored: an answer all the same.
	if out, _ := a.run(0, "fleet", "effects"); !strings.Contains(out, "Not enough to say") {
		t.Errorf("an empty store: %s", out)
	}
	a.run(0, "sim", "fleet", "--players", "700", "--seed", "6", "--shots-per-trial", "10", "--quiet")

	var got struct {
		ID      string `json:"id"`
		Effects []struct {
			Term   string  `json:"term"`
			Change float64 `json:"change"`
		} `json:"effects"`
	}
	out, _ := a.run(0, "fleet", "effects", "--json")
	if err := json.Unmarshal([]byte(out), &got); err != nil || got.ID == "" || len(got.Effects) < 40 {
		t.Fatal(err, out)
	}
	kept, _ := a.run(0, "fleet", "effects", "--answer", got.ID, "--json")
	if kept != out {
		t.Error("the kept answer is printed otherwise than when it was made")
	}
	text, _ := a.run(0, "fleet", "effects", "--quiet", "--over", "speed_mps")
	for _, want := range []string{"10 g heavier shaft", "by clubhead speed", got.ID, "Findings", "Dependence on the swing", "margin of 5",
		"it pays ", "swing_weight is left out"} {
		if !strings.Contains(text, want) {
			t.Errorf("text lacks %q: %s", want, text)
		}
	}
	if list, _ := a.run(0, "fleet", "effects", "--kept"); !strings.Contains(list, got.ID) {
		t.Errorf("not listed: %s", list)
	}
	table, _ := a.run(0, "fleet", "effects", "--csv")
	if rows, err := csv.NewReader(strings.NewReader(table)).ReadAll(); err != nil || len(rows) != len(got.Effects)+1 {
		t.Error(err, len(rows))
	}
	for name, args := range map[string][]string{
		"forest.svg": {"effects"}, "profiles.svg": {"effects", "--over", "speed_mps", "--forest"}, "map.svg": {"effects", "--over", "speed_mps"},
		"sheet.svg": {"robustness", "--attribute", "shaft_weight", "--attributes", "shaft_weight,length", "--no-traits"},
	} {
		path := filepath.Join(t.TempDir(), name)
		a.run(0, append(append([]string{"fleet"}, args...), "--svg", path, "--quiet")...)
		if b, err := os.ReadFile(path); err != nil || !bytes.HasPrefix(b, []byte("<svg")) || bytes.Contains(b, []byte("NaN")) {
			t.Errorf("%s: %v, %.200s", name, err, b)
		}
	}

	var builds []struct {
		Build string `json:"build"`
	}
	out, _ = a.run(0, "fleet", "compare", "--list", "--json")
	if err := json.Unmarshal([]byte(out), &builds); err != nil || len(builds) < 10 {
		t.Fatal(err, len(builds))
	}
	if out, _ := a.run(0, "fleet", "compare", builds[0].Build, builds[1].Build, "--quiet"); !strings.Contains(out, "players") {
		t.Errorf("compare: %s", out)
	}
	if out, _ := a.run(0, "fleet", "diagnose", "--json"); !strings.Contains(out, `"code": "selection"`) {
		t.Errorf("diagnose: %s", out)
	}
	// No step of these fleets moves the strike or the delivery: all of it is left.
	var ways enquiry.Table
	out, _ = a.run(0, "fleet", "question", "through", "--json")
	if err := json.Unmarshal([]byte(out), &ways); err != nil || ways.Refused != "" || !strings.Contains(out, "no lot was cast") {
		t.Fatalf("through: %v, %.600s", err, out)
	}
	left := 0
	for i := range ways.Rows {
		switch share := ways.Value(i, "share"); {
		case math.IsNaN(share):
		case ways.Rows[i][ways.Place("way")].Text == "left":
			left++
			if !(share > 0.7 && share < 1.3) {
				t.Errorf("through: %v of %s is left", share, ways.Rows[i][0].Text)
			}
		case math.Abs(share) > 0.3:
			t.Errorf("through: %v of %s goes through %s", share, ways.Rows[i][0].Text, ways.Rows[i][1].Text)
		}
	}
	if left == 0 {
		t.Errorf("through: nothing is taken apart: %v", ways.Said)
	}

	stock := filepath.Join(t.TempDir(), "stock.csv")
	if err := os.WriteFile(stock, []byte("build,length,shaft_weight,flex\nLong,46in,60g,R\nHeavy,45in,80g,S\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	player := ""
	for n := range 40 {
		id := "p000000" + string(rune('0'+n/10)) + string(rune('0'+n%10))
		var o, e bytes.Buffer
		if run(t.Context(), []string{"fleet", "advise", "--player", id, "--quiet", "--clickhouse", a.dsn}, strings.NewReader(""), &o, &e) == 0 {
			player, text = id, o.String()
			break
		}
	}
	if player == "" || !strings.Contains(text, "Hit first:") {
		t.Fatalf("no player is advised: %s", text)
	}
	if out, _ := a.run(0, "fleet", "advise", "--player", player, "--stock", stock, "--quiet"); !strings.Contains(out, "Heavy") {
		t.Errorf("stock: %s", out)
	}
	if err := os.WriteFile(stock, []byte("build,length\nLong,46 parsecs\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	for want, args := range map[string][]string{
		"nobody":               {"advise", "--player", "nobody"},
		"--player is missing":  {"advise"},
		"line 2, length":       {"advise", "--player", player, "--stock", stock},
		"no such thing":        {"compare", "no such thing", builds[0].Build},
		"name two builds":      {"compare"},
		"there is no such":     {"effects", "--band", "height=1..2"},
		"is no day":            {"effects", "--from", "May"},
		"use harbour-row":      {"effects", "--studio", "harbor-row"},
		"was hit in no trial":  {"effects", "--build", "no-such-key"},
		"no player's swing":    {"effects", "--band", "speed_mps=90..95"},
		"cannot be asked":      {"effects", "--category", "putter"},
		"is not known":         {"effects", "--outcome", "luck"},
		"no such answer":       {"effects", "--answer", "0123"},
		"--attribute is":       {"robustness"},
		"exclude each other":   {"diagnose", "--json", "--csv"},
		"unexpected argument":  {"effects", "more"},
		"is no level":          {"effects", "--level", "95"},
		"write trait=low..hig": {"effects", "--band", "speed"},
	} {
		if _, errs := a.run(2, append([]string{"fleet"}, args...)...); !strings.Contains(errs, want) {
			t.Errorf("%v does not say %q: %s", args, want, errs)
		}
	}
	// Examples work as printed, with this store.
	for _, line := range strings.Split(newFleetEffectsCommand().Example+"\n"+newFleetDiagnoseCommand().Example, "\n") {
		args := strings.Fields(strings.Replace(line, "--config studio.yaml", "", 1))
		for i := range args {
			if strings.HasSuffix(args[i], ".svg") {
				args[i] = filepath.Join(t.TempDir(), args[i])
			}
		}
		var o, e bytes.Buffer
		if code := run(t.Context(), append(args[1:], "--clickhouse", a.dsn), strings.NewReader(""), &o, &e); code > 1 || o.Len() == 0 {
			t.Errorf("%s: exit %d: %s", line, code, e.String())
		}
	}
}
