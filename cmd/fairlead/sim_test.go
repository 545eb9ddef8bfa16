package main

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fairlead/processors/sim"
)

func runSim(t *testing.T, want int, args ...string) (stdout, stderr string) {
	t.Helper()
	var out, errs bytes.Buffer
	if got := run(t.Context(), append([]string{"sim"}, args...), strings.NewReader(""), &out, &errs); got != want {
		t.Fatalf("sim %v: exit %d, want %d: %s", args, got, want, &errs)
	}
	return out.String(), errs.String()
}

// Every device's file, written by sim feed, is read by feed try with the map
// that sim feed prints.
func TestSimFeedIsReadByFeedTry(t *testing.T) {
	for _, m := range sim.Models() {
		dir := t.TempDir()
		file, maps := filepath.Join(dir, "shots.txt"), filepath.Join(dir, "map.yaml")
		args := []string{"feed", "--device", m.Name, "--shots", "60", "--seed", "7", "--start", "2026-05-04T09:00:00Z"}
		out, _ := runSim(t, 0, append(args, "--truth", filepath.Join(dir, "truth.ndjson"), file)...)
		var s sim.Summary
		if err := json.Unmarshal([]byte(out), &s); err != nil || s.Hits != 60 {
			t.Fatalf("%v: %s", err, out)
		}
		text, _ := runSim(t, 0, "feed", "--device", m.Name, "--map")
		if err := os.WriteFile(maps, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		var shots, rejects bytes.Buffer
		run(t.Context(), []string{"feed", "try", "--map", maps, file}, strings.NewReader(""), &shots, &rejects)
		if got := strings.Count(shots.String(), "\n"); got != s.Lines-s.Rejected {
			t.Errorf("%s: feed try reads %d shots, want %d\n%s", m.Name, got, s.Lines-s.Rejected, &rejects)
		}
		again := filepath.Join(dir, "again", "shots.txt")
		runSim(t, 0, append(args, again)...)
		one, _ := os.ReadFile(file)
		two, _ := os.ReadFile(again)
		if !bytes.Equal(one, two) || len(one) == 0 {
			t.Errorf("%s: the same seed and start write other bytes", m.Name)
		}
	}
}

func TestSimBaysNeedsADeviceItKnows(t *testing.T) {
	dir := t.TempDir()
	config, err := sim.DemoConfig(dir, sim.Addresses{Console: "127.0.0.1:1"})
	if err != nil {
		t.Fatal(err)
	}
	text, _ := os.ReadFile(config)
	if err := os.WriteFile(config, bytes.ReplaceAll(text, []byte("tail: feeds/"), []byte("folder: feeds/")), 0o600); err != nil {
		t.Fatal(err)
	}
	_, stderr := runSim(t, 1, "bays", "--config", config, "--shots", "1")
	if !strings.Contains(stderr, "only tail: feeds are") || !strings.Contains(stderr, "no bay has a feed") {
		t.Errorf("%s", stderr)
	}
}

func TestSimRefusesWrongUse(t *testing.T) {
	for _, c := range []struct {
		args []string
		want string
	}{
		{[]string{"feed"}, "name one file"},
		{[]string{"feed", "--device", "nobody", "x"}, `"nobody"`},
		{[]string{"feed", "--device", "nobody", "--map"}, `"nobody"`},
		{[]string{"feed", "--shots", "0", "x"}, "at least 1"},
		{[]string{"feed", "--category", "spoon", "x"}, "driver, wood"},
		{[]string{"feed", "--start", "noon", "x"}, "2026-05-04T09:00:00Z"},
		{[]string{"bays", "--config", "nowhere.yaml"}, "--config"},
		{[]string{"fleet", "--clickhouse", ""}, "--clickhouse"},
		{[]string{"fleet", "--clickhouse", "http://x/y", "--players", "0"}, "0 players"},
		{[]string{"fleet", "--clickhouse", "http://x/y", "--mishits", "3"}, "share of 3"},
	} {
		if _, stderr := runSim(t, 2, c.args...); !strings.Contains(stderr, c.want) {
			t.Errorf("sim %v: %s", c.args, stderr)
		}
	}
}
