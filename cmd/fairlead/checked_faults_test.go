package main

import (
	"context"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"time"

	"fairlead/deploy/powercut"
	"fairlead/deploy/proof"
)

// strikes hurts a studio, at seeded times.
type strikes struct {
	c    *checked
	rng  *rand.Rand
	disk *powercut.Disk // of the data; nil: it stands with everything else
	hang time.Duration

	stopped map[int]bool
	n       map[string]int
}

// victim is a running process, one of those named if any are.
func (s *strikes) victim(names ...string) running {
	all := slices.DeleteFunc(s.c.processes(), func(p running) bool {
		named := func(n string) bool { return strings.HasPrefix(p.Name, n) }
		return p.Pid == 0 || s.stopped[p.Pid] || len(names) > 0 && !slices.ContainsFunc(names, named)
	})
	if len(all) == 0 {
		return running{} // all are between two lives
	}
	return all[s.rng.IntN(len(all))]
}

func (s *strikes) kill(context.Context) { s.end(s.victim(), "kills") }

// killCollector ends a collector, and haltCollector has one hang, where that of
// all else is no matter.
func (s *strikes) killCollector(context.Context) { s.end(s.victim("collect"), "collectors killed") }

func (s *strikes) end(p running, what string) {
	if p.Pid != 0 && syscall.Kill(p.Pid, syscall.SIGKILL) == nil {
		s.n[what]++
		s.c.diary.note(0, "%s (%d) is killed", p.Name, p.Pid)
	}
}

func (s *strikes) haltCollector(context.Context) { s.stop(s.victim("collect"), "collectors hung") }

// halt has a process hang: nothing answers and nothing ends, until up ends it or
// it goes on.
func (s *strikes) halt(context.Context) { s.stop(s.victim(), "hangs") }

func (s *strikes) stop(p running, what string) {
	if p.Pid != 0 && syscall.Kill(p.Pid, syscall.SIGSTOP) == nil {
		s.n[what]++
		s.stopped[p.Pid] = true
		s.c.diary.note(0, "%s (%d) stands still", p.Name, p.Pid)
		time.AfterFunc(s.hang, func() { syscall.Kill(p.Pid, syscall.SIGCONT) })
	}
}

// cut takes the power of the machine that holds all data, and starts it again.
func (s *strikes) cut(context.Context) {
	children, _ := s.c.listed()
	s.c.diary.note(-1, "the power is cut")
	s.disk.Cut()
	s.c.powerless(children)
	s.disk.Restore()
	s.c.diary.note(1, "the power is back")
	s.c.start()
	s.c.diary.note(0, "the console answers")
	s.n["power cuts"]++
}

// rot flips a bit in a file of journals, log or store, and has its owner read it
// again.
func (s *strikes) rot(context.Context) {
	c := s.c.config
	kinds := []struct {
		name, below, owner string
		of                 func(path string) bool
	}{
		{"journals", c.DataPath("journals"), "collect", journalFile},
		{"journal of visits", c.ConsoleJournalDir(), "console", journalFile},
		{"log", c.BrokerDir(), "broker", func(p string) bool { return strings.HasSuffix(p, ".blk") }},
		{"store", c.EngineDir(), "engine", func(p string) bool { return strings.HasSuffix(p, ".bin") && strings.Contains(p, "/all_") }},
	}
	k := kinds[s.rng.IntN(len(kinds))]
	var files []string
	filepath.WalkDir(k.below, func(path string, d os.DirEntry, err error) error {
		if err == nil && d.Type().IsRegular() && k.of(path) {
			files = append(files, path)
		}
		return nil
	})
	if len(files) == 0 {
		return
	}
	f, err := os.OpenFile(files[s.rng.IntN(len(files))], os.O_RDWR, 0)
	if err != nil {
		return // merged away
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil || info.Size() == 0 {
		return
	}
	at, bit := s.rng.Int64N(info.Size()), byte(1)<<s.rng.IntN(8)
	one := make([]byte, 1)
	if _, err := f.ReadAt(one, at); err != nil {
		return
	}
	one[0] ^= bit
	if _, err := f.WriteAt(one, at); err != nil {
		return
	}
	s.n["bits flipped in "+k.name]++
	if p := s.victim(k.owner); p.Pid != 0 {
		syscall.Kill(p.Pid, syscall.SIGKILL)
		s.c.diary.note(0, "a bit is flipped in %s, and %s (%d) is killed", f.Name(), p.Name, p.Pid)
	}
}

func journalFile(path string) bool { return strings.HasSuffix(path, ".journal") }

// upgrade ends the program and goes on with the present one.
func (s *strikes) upgrade(ctx context.Context) {
	if s.n["upgrades"] > 0 {
		s.kill(ctx)
		return
	}
	s.c.stop()
	s.c.program = program(s.c.t)
	s.c.start()
	s.n["upgrades"]++
}

// wake lets go on what stands still.
func (s *strikes) wake() {
	for pid := range s.stopped {
		syscall.Kill(pid, syscall.SIGCONT)
	}
}

// work strikes until ctx ends, one of those given each time.
func (s *strikes) work(ctx context.Context, least, more time.Duration, of []func(*strikes, context.Context)) {
	for len(of) > 0 && proof.Rest(ctx, least+time.Duration(s.rng.Int64N(int64(more)))) {
		of[s.rng.IntN(len(of))](s, ctx)
	}
	<-ctx.Done()
}
