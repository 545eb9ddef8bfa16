package main

import (
	"context"
	"encoding/json"
	"math/rand/v2"
	"os"
	"path/filepath"
	"syscall"
	"testing"
	"time"

	"fairlead/processors/sim"
)

// The kill campaign: under load, collectors, broker, processors, console and
// engine are killed with -9 at seeded times. Then every shot the devices gave is
// stored once, under the build that the visit events say, with no hand needed.
func TestKillCampaign(t *testing.T) {
	kills, seed := 40, uint64(20260504)
	if proving() {
		kills = 500
	} else if testing.Short() {
		kills = 8
	}
	r := newRig(t, "")
	r.start()
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	wait := r.hit(ctx, sim.Options{Seed: seed, Rate: 4, Quiet: 50 * time.Millisecond})
	rng := rand.New(rand.NewPCG(seed, seed))
	counts := map[string]int{}
	for n := 0; n < kills; {
		time.Sleep(time.Duration(200+rng.IntN(600)) * time.Millisecond)
		processes := r.processes()
		victim := processes[rng.IntN(len(processes))]
		if victim.Pid == 0 {
			continue // between two lives
		}
		if err := syscall.Kill(victim.Pid, syscall.SIGKILL); err != nil {
			continue // died since the list was written
		}
		counts[victim.Name]++
		n++
	}
	cancel()
	result := r.check(wait())
	t.Logf("%d kills (seed %d) of %v: %d lines, %d entries stored, %d repeats, %d mislabelled by the fitter (%d before repairs)",
		kills, seed, counts, result.Sim.Lines, result.Stored, result.Repeats, result.Mislabeled, result.Before)
	record(t, "kills", map[string]any{"kills": kills, "seed": seed, "of": counts, "result": result})
}

// record keeps a campaign's result beside the others, when proving.
func record(t *testing.T, name string, result any) {
	t.Helper()
	if !proving() {
		return
	}
	text, err := json.MarshalIndent(result, "", "  ")
	if err != nil {
		t.Fatal(err)
	}
	dir := filepath.Join("..", "..", "testdata", "prove")
	if err := os.MkdirAll(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, name+".json"), append(text, '\n'), 0o644); err != nil {
		t.Fatal(err)
	}
}
