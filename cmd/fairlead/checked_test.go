package main

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"fairlead/deploy/powercut"
	"fairlead/deploy/proof"
	"fairlead/deploy/studio"
)

type running = studio.Running

// campaign is a row of the table: what is done to a studio, and how its bays hit.
type campaign struct {
	name        string
	bays        int
	long        time.Duration
	least, more time.Duration // between two strikes
	hang        time.Duration
	manner      manner
	imported    int // lines of the last weeks that stand in each device's file at first
	power       bool
	last        bool // begins with the program of before
	clockless   bool // the devices write no times
	walls, onPC bool // the machines' wall clocks are set; the devices go by those of their bays
	strikes     []func(*strikes, context.Context)
}

const second = time.Second

var usual = manner{each: 8, apart: second, late: 10}

// campaigns are those of make prove. With least the studio starts, works again and
// stores what waited between two strikes: how long that takes is measured.
var campaigns = []campaign{
	{name: "kills", bays: 6, long: 80 * second, least: second, more: 2 * second, manner: usual,
		strikes: []func(*strikes, context.Context){(*strikes).kill}},
	{name: "hangs of 90 s", bays: 6, long: 180 * second, least: 8 * second, more: 14 * second, hang: 90 * second, manner: usual,
		strikes: []func(*strikes, context.Context){(*strikes).halt}},
	{name: "collectors killed, devices without clocks", bays: 8, long: 150 * second, least: second / 2, more: second,
		manner: manner{each: 8, apart: second}, clockless: true,
		strikes: []func(*strikes, context.Context){(*strikes).killCollector}},
	{name: "collectors hang 90 s, devices without clocks", bays: 8, long: 240 * second, least: 4 * second, more: 6 * second,
		hang: 90 * second, manner: manner{each: 8, apart: second}, clockless: true,
		strikes: []func(*strikes, context.Context){(*strikes).haltCollector}},
	{name: "wall clocks step", bays: 6, long: 120 * second, least: 3 * second, more: 4 * second, hang: 5 * second, walls: true,
		manner: manner{each: 8, apart: second}, strikes: steps},
	{name: "wall clocks step, devices without clocks", bays: 6, long: 120 * second, least: 3 * second, more: 4 * second,
		hang: 5 * second, walls: true, clockless: true, manner: manner{each: 8, apart: second}, strikes: steps},
	{name: "wall clocks step, devices on those machines", bays: 6, long: 120 * second, least: 3 * second, more: 4 * second,
		hang: 5 * second, walls: true, onPC: true, manner: manner{each: 8, apart: second}, strikes: steps},
	{name: "power cuts", bays: 4, long: 150 * second, least: 10 * second, more: 10 * second, power: true, manner: usual,
		strikes: []func(*strikes, context.Context){(*strikes).cut}},
	{name: "bits flipped in each store", bays: 4, long: 150 * second, least: 2 * second, more: 4 * second, manner: usual,
		strikes: []func(*strikes, context.Context){(*strikes).rot}},
	{name: "devices' clocks step", bays: 6, long: 100 * second, least: 6 * second, more: 6 * second,
		manner:  manner{each: 6, apart: second, steps: true},
		strikes: []func(*strikes, context.Context){(*strikes).kill}},
	{name: "files written late", bays: 6, long: 120 * second, least: 5 * second, more: 5 * second,
		manner:  manner{each: 8, apart: second, late: 3},
		strikes: []func(*strikes, context.Context){(*strikes).kill}},
	{name: "20,000 shots a bay", bays: 2, long: 120 * second, least: 15 * second, more: 10 * second, imported: 20_000,
		manner: manner{each: 8, apart: second, late: 10, burst: 20_000}, strikes: []func(*strikes, context.Context){(*strikes).kill}},
	{name: "fifty bays", bays: 50, long: 120 * second, least: 10 * second, more: 10 * second, manner: manner{each: 8, apart: 5 * second},
		strikes: []func(*strikes, context.Context){(*strikes).kill}},
	{name: "upgrade from the program of before", bays: 3, long: 60 * second, least: 15 * second, more: 5 * second, manner: usual,
		last:    true,
		strikes: []func(*strikes, context.Context){(*strikes).upgrade}},
	{name: "all of it", bays: 4, long: 240 * second, least: 3 * second, more: 9 * second, hang: 90 * second, power: true,
		imported: 2000, manner: usual,
		strikes: []func(*strikes, context.Context){(*strikes).kill, (*strikes).kill, (*strikes).halt, (*strikes).cut, (*strikes).rot}},
}

var steps = []func(*strikes, context.Context){(*strikes).step, (*strikes).step, (*strikes).step, (*strikes).stepAway,
	(*strikes).stepBetween, (*strikes).kill}

// few is what -short does: some seconds of one studio.
var few = campaign{name: "a few of each", bays: 2, long: 7 * second, least: second, more: second / 2, hang: 2 * second, imported: 50,
	manner:  manner{each: 4, apart: 150 * time.Millisecond, late: 5, burst: 40},
	strikes: []func(*strikes, context.Context){(*strikes).kill, (*strikes).halt, (*strikes).rot}}

// A studio in real processes is hurt at seeded times while its bays hit. A program
// that shares nothing with Fairlead then says that nothing is lost, doubled,
// altered or silently under a wrong build, with no hand needed.
func TestAStrangerChecksTheStudio(t *testing.T) {
	seed := proof.Seed(t, 20260511)
	switch {
	case testing.Short():
		few.run(t, seed)
		return
	case !proof.Wanted():
		t.Skip("a campaign of make prove; -short runs a few seconds of it")
	}
	for _, c := range campaigns {
		t.Run(c.name, func(t *testing.T) { c.run(t, seed) })
	}
}

// before is the folder with the programs of the last release.
func before(t *testing.T) string {
	dir := os.Getenv("FAIRLEAD_BEFORE")
	if dir == "" {
		t.Skip("FAIRLEAD_BEFORE names no folder with fairlead and fairlead-engine of the last release: build them there with " +
			"git worktree add DIR COMMIT && make -C DIR build")
	}
	return filepath.Join(dir, "fairlead")
}

func (m campaign) run(t *testing.T, seed uint64) {
	var names []string
	for i := range m.bays {
		names = append(names, fmt.Sprintf("bay%d", i+1))
	}
	s := &strikes{rng: rand.New(rand.NewPCG(seed, 7)), hang: m.hang, stopped: map[int]bool{}, n: map[string]int{}}
	data := ""
	if m.power {
		if !powercut.Possible(t) {
			return
		}
		s.disk = powercut.New(t, 4<<30)
		data = filepath.Join(s.disk.Dir(), "studio")
	}
	c := newChecked(t, names, data, m.imported, m.clockless)
	s.c = c
	if m.walls {
		c.walls, c.program = newWalls(t), steppable(t)
	}
	if m.last {
		c.program = before(t)
	}
	c.start()
	ctx, cancel := context.WithTimeout(t.Context(), m.long)
	defer cancel()
	out := newOutage(c)
	defer func() { c.diary.tell(t, out.waits, c.log.String()) }()
	looking, stop := context.WithCancel(t.Context())
	defer stop()
	var bay, look sync.WaitGroup
	look.Go(func() { out.watch(looking) })
	if m.walls {
		look.Go(func() { c.walls.listen(looking, "http://"+c.config.Console.Listen) })
	}
	hands := map[string]*hand{}
	for i, name := range names {
		h := c.hand(name, seed+uint64(i), out)
		hands[name], h.onPC = h, m.onPC
		bay.Go(func() {
			if err := h.visit(ctx, m.manner); err != nil && !errors.Is(err, context.DeadlineExceeded) {
				t.Errorf("bay %s: %v", name, err)
			}
		})
	}
	s.work(ctx, m.least, m.more, m.strikes)
	bay.Wait()
	for _, h := range hands {
		if len(h.held) > 0 {
			proof.Pause(t, time.Until(h.kept.Add(5*time.Second)))
			h.release()
		}
	}
	s.wake()
	found := c.check(90 * second)
	out.look(t.Context(), &httpClient)
	stop()
	look.Wait()
	slow := longest(out.waits)
	if len(slow) == 0 {
		t.Fatal("nobody hit")
	}
	t.Logf("%s, seed %d: %v, %d shots of %d bays: all stored once under their builds; %d are asked about; a shot waited %.1f s at most, "+
		"%.1f s of it with power", m.name, seed, s.n, found.Lines, m.bays, found.Asked, slow[0].stored.Sub(slow[0].written).Seconds(),
		slow[0].on.Seconds())
	if m.walls && !c.walls.said.Load() {
		t.Error("nothing in the bays' health spoke of a clock that was set")
	}
	proof.RecordRow(t, "stranger", fmt.Sprintf("%s, seed %d", m.name, seed), map[string]any{"bays": m.bays, "strikes": s.n,
		"seconds": m.long.Seconds(), "shots": found.Lines, "asked": found.Asked,
		"lost": found.Lost, "doubled": found.Doubled, "mistagged": found.Mistagged,
		"longest_outage_s": float64(slow[0].on.Milliseconds()) / 1000})
}
