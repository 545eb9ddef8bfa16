package main

import (
	"context"
	"math/rand/v2"
	"path/filepath"
	"testing"
	"time"

	"fairlead/deploy/powercut"
	"fairlead/deploy/proof"
	"fairlead/processors/sim"
)

// The power of the whole studio goes: journals, log, store, keys and the
// people's file lose what was not synced, all at once, under load and while it
// is starting. Started again without a hand, it ends with every shot that the
// devices gave stored once, under the build that the visit events say.
func TestPowerCutOfAWholeStudio(t *testing.T) {
	if !powercut.Possible(t) {
		return
	}
	cold, loaded, seed := 2, 2, proof.Seed(t, 20260505)
	if proof.Wanted() {
		cold, loaded = 20, 60
	}
	disk := powercut.New(t, 4<<30)
	r := newRig(t, filepath.Join(disk.Dir(), "studio"))
	rng := rand.New(rand.NewPCG(seed, seed))
	cut := func() {
		children, _ := r.listed() // none yet, when it was only just started
		disk.Cut()
		r.powerless(children)
		disk.Restore()
	}
	for range cold {
		r.launch()
		proof.Pause(t, time.Duration(rng.IntN(2500))*time.Millisecond)
		cut()
	}
	r.start()
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	wait := r.hit(ctx, sim.Options{Seed: seed, Rate: 4, Quiet: 50 * time.Millisecond})
	for range loaded {
		proof.Pause(t, time.Duration(1500+rng.IntN(4000))*time.Millisecond)
		cut()
		r.start()
	}
	proof.Pause(t, 2*time.Second)
	cancel()
	result := r.check(wait())
	r.replayed()
	t.Logf("%d power cuts while starting, %d under load (seed %d): %d lines, %d entries stored, %d repeats", cold, loaded, seed,
		result.Sim.Lines, result.Stored, result.Repeats)
	proof.Record(t, "powercut_studio", map[string]any{"cuts_while_starting": cold, "cuts_under_load": loaded, "seed": seed, "result": result})
}
