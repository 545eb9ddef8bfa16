package main

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"sync"
	"syscall"
	"testing"
	"time"

	"fairlead/deploy/proof"
)

// Processes of a studio are killed and stopped at seeded times while bays hit, and
// some lines are written late. A program that shares nothing with Fairlead then
// says that nothing is lost, doubled, altered or silently under a wrong build.
func TestAStrangerChecksTheStudio(t *testing.T) {
	if !proof.Wanted() {
		t.Skip("a campaign of make prove")
	}
	bays, long, each, apart, hang := 6, 6*time.Minute, 10, 1500*time.Millisecond, 90*time.Second
	if testing.Short() {
		bays, long, each, apart, hang = 2, 6*time.Second, 5, 100*time.Millisecond, 1500*time.Millisecond
	}
	seed := proof.Seed(t, 20260511)
	var names []string
	for i := range bays {
		names = append(names, fmt.Sprintf("bay%d", i+1))
	}
	c := newChecked(t, names)
	c.start()
	ctx, cancel := context.WithTimeout(t.Context(), long)
	defer cancel()
	var bay sync.WaitGroup
	hands := map[string]*hand{}
	for i, name := range names {
		h := c.hand(name, seed+uint64(i))
		hands[name] = h
		bay.Go(func() {
			if err := h.visit(ctx, each, apart); err != nil && !errors.Is(err, context.DeadlineExceeded) {
				t.Errorf("bay %s: %v", name, err)
			}
		})
	}
	rng := rand.New(rand.NewPCG(seed, 7))
	kills, hangs := 0, 0
	stopped := map[int]bool{}
	for ctx.Err() == nil {
		proof.Rest(ctx, time.Duration(400+rng.IntN(1200))*time.Millisecond)
		all := c.processes()
		victim := all[rng.IntN(len(all))]
		if victim.Pid == 0 || stopped[victim.Pid] {
			continue
		}
		if rng.IntN(3) > 0 {
			if syscall.Kill(victim.Pid, syscall.SIGKILL) == nil {
				kills++
			}
			continue
		}
		// Hung: nothing answers and nothing ends, until up ends it or it goes on.
		if syscall.Kill(victim.Pid, syscall.SIGSTOP) == nil {
			hangs++
			stopped[victim.Pid] = true
			time.AfterFunc(hang, func() { syscall.Kill(victim.Pid, syscall.SIGCONT) })
		}
	}
	bay.Wait()
	for _, h := range hands {
		proof.Pause(t, time.Until(h.kept.Add(5*time.Second)))
		h.release()
	}
	for pid := range stopped {
		syscall.Kill(pid, syscall.SIGCONT)
	}
	found := c.check(2 * time.Minute)
	t.Logf("seed %d: %d kills, %d hangs, %d shots of %d bays: all stored once under their builds; %d are asked about", seed, kills, hangs,
		found.Lines, bays, found.Asked)
	if found.Lines == 0 {
		t.Error("nobody hit")
	}
	proof.Record(t, "stranger", map[string]any{"seed": seed, "bays": bays, "kills": kills, "hangs": hangs, "hang_s": hang.Seconds(),
		"minutes": long.Minutes(), "shots": found.Lines, "asked": found.Asked, "lost": 0, "doubled": 0, "mistagged": 0})
}
