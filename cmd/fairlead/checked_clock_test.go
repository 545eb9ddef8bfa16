package main

import (
	"context"
	"encoding/binary"
	"encoding/json"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"fairlead/deploy/proof"
)

// clockFile names the file with how many seconds the wall clocks of stepped
// programs are off: 8 bytes for the hub's processes, 8 for the bays' collectors.
const clockFile = "FAIRLEAD_TEST_CLOCK"

// steppedNow is added to the package time of a stepped program. Go asks the
// kernel's page for the time and no library, so a preloaded one would change
// nothing; and the runtime asks for it where no system call may be made, so that
// the file is mapped.
const steppedNow = `package time

import (
	"sync/atomic"
	"syscall"
	"unsafe"
)

var steppedBy = steppedMap()

func steppedMap() *int64 {
	path, set := syscall.Getenv("` + clockFile + `")
	if !set {
		return nil
	}
	fd, err := syscall.Open(path, syscall.O_RDONLY|syscall.O_CLOEXEC, 0)
	if err != nil {
		panic("stepped clock: " + path)
	}
	at, err := syscall.Mmap(fd, 0, 16, syscall.PROT_READ, syscall.MAP_SHARED)
	syscall.Close(fd)
	if err != nil {
		panic("stepped clock: " + path)
	}
	line := make([]byte, 64)
	if fd, err = syscall.Open("/proc/self/cmdline", syscall.O_RDONLY|syscall.O_CLOEXEC, 0); err == nil {
		line = line[:0]
		var piece [256]byte
		for {
			n, err := syscall.Read(fd, piece[:])
			if n <= 0 || err != nil {
				break
			}
			line = append(line, piece[:n]...)
		}
		syscall.Close(fd)
	}
	slot := 0
	for i, c := range line {
		const bay = "\x00collect\x00"
		if c == 0 && len(line)-i >= len(bay) && string(line[i:i+len(bay)]) == bay {
			slot = 8
		}
	}
	return (*int64)(unsafe.Pointer(&at[slot]))
}

func stepped() int64 {
	if steppedBy == nil {
		return 0
	}
	return atomic.LoadInt64(steppedBy)
}
`

// steppable builds the program with a wall clock that a file sets. The time since
// a moment, and since the boot, goes on as it does when a real clock is set.
func steppable(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	root, err := exec.Command("go", "env", "GOROOT").Output()
	if err != nil {
		t.Fatal(err)
	}
	source := filepath.Join(strings.TrimSpace(string(root)), "src", "time")
	text, err := os.ReadFile(filepath.Join(source, "time.go"))
	if err != nil {
		t.Fatal(err)
	}
	const now = "func Now() Time {\n\tsec, nsec, mono := runtimeNow()\n"
	if strings.Count(string(text), now) != 1 {
		t.Fatal("this Go tells the time otherwise: look at time.Now in its sources")
	}
	replaced := map[string]string{}
	for name, text := range map[string]string{"time.go": strings.Replace(string(text), now, now+"\tsec += stepped()\n", 1),
		"stepped.go": steppedNow} {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		replaced[filepath.Join(source, name)] = path
	}
	overlay, err := json.Marshal(map[string]any{"Replace": replaced})
	if err != nil {
		t.Fatal(err)
	}
	list, out := filepath.Join(dir, "overlay.json"), filepath.Join(dir, "fairlead")
	if err := os.WriteFile(list, overlay, 0o644); err != nil {
		t.Fatal(err)
	}
	if text, err := exec.Command("go", "build", "-overlay", list, "-o", out, "fairlead/cmd/fairlead").CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, text)
	}
	if err := os.Symlink(filepath.Join(filepath.Dir(program(t)), "fairlead-engine"), filepath.Join(dir, "fairlead-engine")); err != nil {
		t.Fatal(err)
	}
	return out
}

// walls are the wall clocks of a studio's hub and of its bays' machines.
type walls struct {
	file *os.File
	off  [2]atomic.Int64 // s
	said atomic.Bool     // the studio's health spoke of a step
}

func newWalls(t *testing.T) *walls {
	f, err := os.Create(filepath.Join(t.TempDir(), "clock"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { f.Close() })
	w := &walls{file: f}
	t.Setenv(clockFile, f.Name())
	for i := range w.off {
		if err := w.set(i, 0); err != nil {
			t.Fatal(err)
		}
	}
	return w
}

func (w *walls) set(i int, off int64) error {
	w.off[i].Store(off)
	_, err := w.file.WriteAt(binary.NativeEndian.AppendUint64(nil, uint64(off)), int64(8*i))
	return err
}

// listen looks whether health speaks of steps, until ctx ends.
func (w *walls) listen(ctx context.Context, console string) {
	for proof.Rest(ctx, time.Second) && !w.said.Load() {
		answer, err := httpClient.Get(console + "/api/bays")
		if err != nil {
			continue
		}
		text, _ := io.ReadAll(answer.Body)
		answer.Body.Close()
		if strings.Contains(string(text), "wall clock was set") {
			w.said.Store(true)
		}
	}
}

// step sets the hub's clock, the bays' or both by seconds, an hour or a day,
// forwards or back.
func (s *strikes) step(context.Context) {
	by := []int64{3, 40, 3600, 86400}[s.rng.IntN(4)]
	if s.rng.IntN(2) == 0 {
		by = -by
	}
	which := s.rng.IntN(3)
	for i := range s.c.walls.off {
		if which != i {
			if err := s.c.walls.set(i, s.c.walls.off[i].Load()+by); err != nil {
				s.c.t.Error(err)
			}
		}
	}
	what := []string{"bays'", "hub's", "hub's and bays'"}[which]
	s.n["steps of the "+what+" clocks"]++
	s.c.diary.note(0, "the %s clocks step by %d s", what, by)
}

// stepAway sets it while the broker stands still, so that bays are cut off.
func (s *strikes) stepAway(ctx context.Context) {
	s.stop(s.victim("broker"), "cut off")
	proof.Rest(ctx, second)
	s.step(ctx)
}

// stepBetween sets it while nothing runs.
func (s *strikes) stepBetween(ctx context.Context) {
	s.c.stop()
	s.step(ctx)
	s.c.start()
	s.n["restarts"]++
}
