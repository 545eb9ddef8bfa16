package main

import (
	"context"
	"math/rand/v2"
	"slices"
	"sync"
	"syscall"
	"testing"
	"time"

	"fairlead/deploy/proof"
	"fairlead/deploy/studio"
	"fairlead/processors/sim"
)

// The kill campaign: under load, collectors, broker, processors, console and
// engine are killed with -9 at seeded times. Then every shot the devices gave is
// stored once, under the build that the visit events say, with no hand needed.
func TestKillCampaign(t *testing.T) {
	kills, seed := 18, proof.Seed(t, 20260504)
	if proof.Wanted() {
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
	back := &restarts{r: r}
	var names []string // of those whose turn is still to come: all are hit alike often, in a drawn order
	for n := 0; n < kills; {
		proof.Pause(t, time.Duration(200+rng.IntN(600))*time.Millisecond)
		processes := r.processes()
		if len(names) == 0 {
			for _, i := range rng.Perm(len(processes)) {
				names = append(names, processes[i].Name)
			}
		}
		i := slices.IndexFunc(processes, func(p studio.Running) bool { return p.Name == names[0] })
		if i < 0 || processes[i].Pid == 0 {
			continue // between two lives
		}
		victim := processes[i]
		names = names[1:]
		if err := syscall.Kill(victim.Pid, syscall.SIGKILL); err != nil {
			continue // died since the list was written
		}
		counts[victim.Name]++
		n++
		back.await(victim)
	}
	cancel()
	result := r.check(wait())
	r.replayed()
	t.Logf("%d kills (seed %d) of %v: %d lines, %d entries stored, %d repeats, %d mislabelled by the fitter (%d before repairs)",
		kills, seed, counts, result.Sim.Lines, result.Stored, result.Repeats, result.Mislabeled, result.Before)
	median, longest := back.times()
	t.Logf("a killed process runs again after %v (half of them), %v at most", median, longest)
	proof.Record(t, "kills", map[string]any{"kills": kills, "seed": seed, "of": counts, "restart_ms_median": median.Milliseconds(),
		"restart_ms_longest": longest.Milliseconds(), "result": result})
}

// restarts measures how long killed processes are away. The times are recorded,
// not asserted: they are the machine's as much as the supervisor's.
type restarts struct {
	r       *rig
	waiting sync.WaitGroup
	mu      sync.Mutex
	took    []time.Duration
}

// await measures until the victim's name has another process.
func (b *restarts) await(victim studio.Running) {
	killed := time.Now()
	b.waiting.Go(func() {
		for time.Since(killed) < 20*time.Second {
			now, err := b.r.listed()
			i := slices.IndexFunc(now, func(p studio.Running) bool { return p.Name == victim.Name })
			if err == nil && i >= 0 && now[i].Pid != 0 && now[i].Pid != victim.Pid {
				b.mu.Lock()
				defer b.mu.Unlock()
				b.took = append(b.took, time.Since(killed))
				return
			}
			proof.Pause(b.r.t, 10*time.Millisecond)
		}
	})
}

func (b *restarts) times() (median, longest time.Duration) {
	b.waiting.Wait()
	b.mu.Lock()
	defer b.mu.Unlock()
	if len(b.took) == 0 {
		return 0, 0
	}
	slices.Sort(b.took)
	return b.took[len(b.took)/2], b.took[len(b.took)-1]
}
