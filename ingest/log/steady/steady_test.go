package steady

import (
	"os"
	"path/filepath"
	"testing"
	"time"
)

// machine is one whose clocks the test turns.
type machine struct {
	boot  string
	since time.Duration
	wall  time.Time
}

func (m *machine) clock() Clock       { return Clock{m.boot, func() time.Duration { return m.since }} }
func (m *machine) now() time.Time     { return m.wall }
func (m *machine) on(d time.Duration) { m.since += d; m.wall = m.wall.Add(d) }

func (m *machine) open(t *testing.T, dir string) *Hub {
	t.Helper()
	h, err := OpenHub(dir, m.clock(), m.now)
	if err != nil {
		t.Fatal(err)
	}
	return h
}

func TestTheHubsClockDoesNotStep(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "clock")
	start := time.Date(2026, 5, 4, 10, 0, 0, 0, time.UTC)
	m := &machine{"b1", time.Hour, start}
	console := m.open(t, dir)
	for _, step := range []time.Duration{-3 * time.Second, time.Hour, -24 * time.Hour, 24 * time.Hour, -time.Hour} {
		before := console.Now()
		m.wall = m.wall.Add(step)
		process := m.open(t, dir) // started after the step
		if !console.Now().Equal(before) || !process.Now().Equal(before) || process.Epoch() != console.Epoch() {
			t.Errorf("after a step of %s the clocks stand at %s and %s, not at %s", step, console.Now(), process.Now(), before)
		}
		m.on(time.Minute)
		if got := process.Now().Sub(before); got != time.Minute {
			t.Errorf("a minute later it is %s later", got)
		}
	}
	if off := console.Off(); off != -3*time.Second {
		t.Errorf("the wall clock is said to be %s off", off)
	}
}

func TestAfterAStartTheHubsClockIsNotBeforeWhereItCame(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "clock")
	start := time.Date(2026, 5, 4, 10, 0, 0, 0, time.UTC)
	for i, off := range []time.Duration{-time.Hour, -24 * time.Hour, 0, time.Hour} {
		m := &machine{"b" + string(rune('1'+2*i)), time.Hour, start}
		before := m.open(t, dir)
		if err := before.note(); err != nil {
			t.Fatal(err)
		}
		m.on(9 * time.Second) // less than it takes to write it down again
		reached := before.Now()
		m.on(time.Minute)
		m.boot, m.since, m.wall = "b"+string(rune('2'+2*i)), time.Second, m.wall.Add(off)
		after := m.open(t, dir)
		if !after.Now().After(reached) {
			t.Errorf("started %s off: the clock stands at %s and had come to %s", off, after.Now(), reached)
		}
		if after.Epoch() == before.Epoch() {
			t.Error("another boot has the same epoch")
		}
		if off >= 0 && !after.Now().Equal(m.wall) {
			t.Errorf("started %s off: the clock stands at %s, not at %s", off, after.Now(), m.wall)
		}
		start = after.Now().Add(time.Hour)
	}
	left, _ := filepath.Glob(filepath.Join(dir, "boot-*"))
	if len(left) != 1 {
		t.Errorf("anchors of earlier boots are kept: %v", left)
	}
}

func TestADamagedAnchorIsReplaced(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "clock")
	m := &machine{"b1", time.Hour, time.Date(2026, 5, 4, 10, 0, 0, 0, time.UTC)}
	m.open(t, dir)
	if err := os.WriteFile(filepath.Join(dir, "boot-b1"), nil, 0o644); err != nil {
		t.Fatal(err)
	}
	if h := m.open(t, dir); !h.Now().Equal(m.wall) {
		t.Errorf("the clock stands at %s", h.Now())
	}
}

func TestWithoutItsFolderTheClockRunsForOneProcess(t *testing.T) {
	file := filepath.Join(t.TempDir(), "file")
	if err := os.WriteFile(file, nil, 0o644); err != nil {
		t.Fatal(err)
	}
	m := &machine{"b1", time.Hour, time.Date(2026, 5, 4, 10, 0, 0, 0, time.UTC)}
	h, err := OpenHub(filepath.Join(file, "clock"), m.clock(), m.now)
	if err == nil || !h.Now().Equal(m.wall) {
		t.Errorf("clock at %s, error %v", h.Now(), err)
	}
}

func TestTheSystemTellsItsBoot(t *testing.T) {
	a, b := System(), System()
	first := a.Since()
	if second := b.Since(); a.Boot != b.Boot || first <= 0 || second < first {
		t.Errorf("boots %s and %s, up for %s and then %s", a.Boot, b.Boot, first, second)
	}
}
