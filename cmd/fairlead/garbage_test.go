package main

import (
	"context"
	"fmt"
	"io/fs"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"fairlead/deploy/proof"
	"fairlead/deploy/studio"
	"fairlead/processors/sim"
)

// grown is how much memory a process may have taken more after the garbage than
// before, in bytes. Shots are hit meanwhile, of which the engine takes most: some
// 350 MB for its first ones.
const grown = 700 << 20

// Garbage, floods of it and half-open connections on every port of a running studio:
// nothing ends, nothing grows without bound, and shots go all the way meanwhile.
func TestGarbageOnEachPortStopsNothing(t *testing.T) {
	r := newRig(t, "")
	fed := r.labelled()
	r.start()
	proof.Until(t, "every process says where it shows its metrics", func() bool {
		for _, p := range []string{"broker", "process", "console", "collect-lab"} {
			if r.config.Address(p) == "" {
				return false
			}
		}
		return true
	})
	proof.Until(t, "the engine has come up", func() bool { // what it holds before that is no measure of it
		answer, err := http.Get("http://" + r.config.Store.Listen + "/ping")
		if err != nil {
			return false
		}
		answer.Body.Close()
		return answer.StatusCode == http.StatusOK
	})
	before := r.memory()
	ports := map[string]string{"broker": r.config.Broker.Listen, "console": r.config.Console.Listen, "engine": r.config.Store.Listen,
		"metrics of the broker": r.config.Address("broker"), "metrics of the process": r.config.Address("process"),
		"metrics of the console": r.config.Address("console"), "metrics of a bay": r.config.Address("collect-lab"),
		"lines by TCP": fed[0], "POSTs": fed[2]}
	var thrown atomic.Int64
	var all sync.WaitGroup
	all.Go(func() { thrown.Add(int64(proof.Garbage(t, "udp", fed[1]))) })
	for _, at := range ports {
		all.Go(func() { thrown.Add(int64(proof.Garbage(t, "tcp", at))) })
	}
	all.Wait()
	t.Logf("%d connections of garbage to %d ports", thrown.Load(), len(ports)+1)
	ctx, cancel := context.WithTimeout(t.Context(), 3*time.Second)
	defer cancel()
	r.check(r.hit(ctx, sim.Options{Seed: 3, Rate: 6, Quiet: 50 * time.Millisecond})())
	for name, was := range before {
		now, ok := r.memory()[name]
		switch {
		case !ok || now.pid != was.pid || now.restarts != was.restarts:
			t.Errorf("%s was started again: %+v, before %+v", name, now, was)
		case now.bytes > was.bytes+grown:
			t.Errorf("%s took %d MB, before %d", name, now.bytes>>20, was.bytes>>20)
		}
	}
	r.closed()
}

// labelled adds a bay with a feed of each kind that listens, and says where they do.
func (r *rig) labelled() (at [3]string) {
	r.t.Helper()
	for i := range at {
		address, err := studio.FreeAddress(0)
		if err != nil {
			r.t.Fatal(err)
		}
		at[i] = address
	}
	text, err := os.ReadFile(r.config.File())
	if err != nil {
		r.t.Fatal(err)
	}
	more := fmt.Sprintf("  - name: lab\n    feeds:\n      - {name: tcp, map: maps/cinder.yaml, lines: \"tcp-listen://%s\"}\n"+
		"      - {name: udp, map: maps/cinder.yaml, lines: \"udp://%s\"}\n      - {name: posts, map: maps/cinder.yaml, http: %q}\n",
		at[0], at[1], at[2])
	if err := os.WriteFile(r.config.File(), append(text, more...), 0o644); err != nil {
		r.t.Fatal(err)
	}
	if r.config, err = studio.Load(r.config.File()); err != nil {
		r.t.Fatal(err)
	}
	return at
}

type resident struct{ pid, restarts, bytes int }

// memory is what the processes hold of it now.
func (r *rig) memory() map[string]resident {
	r.t.Helper()
	out := map[string]resident{}
	for _, p := range r.processes() {
		text, err := os.ReadFile(fmt.Sprintf("/proc/%d/statm", p.Pid))
		if err != nil {
			continue // between two lives, which its number of restarts tells
		}
		pages, err := strconv.Atoi(strings.Fields(string(text))[1])
		if err != nil {
			r.t.Fatal(err)
		}
		out[p.Name] = resident{p.Pid, p.Restarts, pages * os.Getpagesize()}
	}
	return out
}

var secret = regexp.MustCompile(`\.(seed|token|keys|key)$|people\.json$|(^|/)gate/|(^|/)authority/key|analysts`)

// closed looks that nobody else reads what a studio keeps secret.
func (r *rig) closed() {
	r.t.Helper()
	found := 0
	err := filepath.WalkDir(r.config.DataPath(), func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return nil // what goes away meanwhile
		}
		rel, _ := filepath.Rel(r.config.DataPath(), path)
		if !secret.MatchString(filepath.ToSlash(rel)) {
			return nil
		}
		info, err := d.Info()
		if err != nil {
			return nil
		}
		found++
		if info.Mode().Perm()&0o077 != 0 {
			r.t.Errorf("%s can be read by others: mode %04o", rel, info.Mode().Perm())
		}
		return nil
	})
	if err != nil || found < 8 {
		r.t.Errorf("%d secrets found: %v", found, err)
	}
}
