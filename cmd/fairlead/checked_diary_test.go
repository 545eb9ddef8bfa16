package main

import (
	"cmp"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"
)

// longWait is what a shot may wait for its row after what kept it back has ended.
const longWait = 15 * time.Second

// diary is what was done to a studio and what became of its processes, so that a
// long wait can be told of when all is over.
type diary struct {
	mu    sync.Mutex
	notes []note
	pids  map[string]int
}

type note struct {
	at   time.Time
	text string
	// power says that the machine lost it (-1) or has it again (1), still that it
	// still had it (0).
	power int
}

func (d *diary) note(power int, format string, args ...any) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.notes = append(d.notes, note{time.Now(), fmt.Sprintf(format, args...), power})
}

// births notes which processes ended and began since it was last told.
func (d *diary) births(running []running) {
	for _, p := range running {
		d.mu.Lock()
		before, known := d.pids[p.Name]
		if d.pids == nil {
			d.pids = map[string]int{}
		}
		d.pids[p.Name] = p.Pid
		d.mu.Unlock()
		if known && before != p.Pid {
			d.note(0, "%s was %d and is %d", p.Name, before, p.Pid)
		}
	}
}

// on is how much of a while the machine had power.
func (d *diary) on(from, to time.Time) time.Duration {
	d.mu.Lock()
	defer d.mu.Unlock()
	off, total := time.Time{}, to.Sub(from)
	for _, n := range d.notes {
		switch {
		case n.power < 0:
			off = n.at
		case n.power > 0 && !off.IsZero():
			if a, b := later(off, from), earlier(n.at, to); b.After(a) {
				total -= b.Sub(a)
			}
		}
	}
	return total
}

func later(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}

func earlier(a, b time.Time) time.Time {
	if a.Before(b) {
		return a
	}
	return b
}

// wait is a shot's way to its row.
type wait struct {
	shot            string
	written, stored time.Time
	on              time.Duration // of it, with power
}

// longest are ten of a campaign, of each bay and return one.
func longest(waits []wait) (out []wait) {
	slices.SortFunc(waits, func(a, b wait) int { return cmp.Compare(b.on, a.on) })
	for _, w := range waits {
		bay, _, _ := strings.Cut(w.shot, "/")
		same := func(o wait) bool {
			return strings.HasPrefix(o.shot, bay+"/") && w.stored.Sub(o.stored).Abs() < 5*time.Second
		}
		if len(out) < 10 && !slices.ContainsFunc(out, same) {
			out = append(out, w)
		}
	}
	return out
}

// tell writes the longest waits with what was done meanwhile, and what the processes
// said, below the test's artifacts (go test -artifacts keeps them). Those that are too
// long are shown.
func (d *diary) tell(t *testing.T, waits []wait, said string) {
	t.Helper()
	clock := func(at time.Time) string { return at.UTC().Format("15:04:05.000") }
	var b strings.Builder
	long := false
	for _, w := range longest(waits) {
		long = long || w.on > longWait
		fmt.Fprintf(&b, "%s waited %.1f s (%.1f s with power): written %s, stored %s\n", w.shot, w.stored.Sub(w.written).Seconds(),
			w.on.Seconds(), clock(w.written), clock(w.stored))
		d.mu.Lock()
		for _, n := range d.notes {
			if n.at.After(w.written.Add(-10*time.Second)) && n.at.Before(w.stored) {
				fmt.Fprintf(&b, "    %s %s\n", clock(n.at), n.text)
			}
		}
		d.mu.Unlock()
	}
	dir := t.ArtifactDir()
	for name, text := range map[string]string{"waits.txt": b.String(), "said.log": said} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
			t.Error(err)
		}
	}
	if long {
		t.Logf("waits of more than %v:\n%s", longWait, b.String())
	}
}
