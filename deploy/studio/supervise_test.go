package studio

import (
	"context"
	"io"
	"log/slog"
	"os"
	"os/exec"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"
)

type buffer struct {
	mu sync.Mutex
	b  strings.Builder
}

func (b *buffer) Write(p []byte) (int, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.b.Write(p)
}

func (b *buffer) String() string {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.b.String()
}

func TestKilledChildIsStartedAgainAndStopsInOrder(t *testing.T) {
	cat, err := exec.LookPath("cat")
	if err != nil {
		t.Fatal("no cat: install coreutils")
	}
	var out buffer
	s := NewSupervisor(slog.New(slog.NewTextHandler(&out, nil)), &out)
	changed := make(chan struct{}, 100)
	s.Changed = func([]Running) { changed <- struct{}{} }
	ctx, cancel := context.WithCancel(t.Context())
	stopped := make(chan struct{})
	go func() {
		s.Run(ctx, []Child{{Name: "one", Path: cat}, {Name: "two", Path: cat}})
		close(stopped)
	}()
	pid := func(i int) int {
		for {
			if r := s.Running(); len(r) == 2 && r[i].Pid != 0 {
				return r[i].Pid
			}
			<-changed
		}
	}
	for range 3 {
		was := pid(0)
		syscall.Kill(was, syscall.SIGKILL)
		for pid(0) == was {
			<-changed
		}
	}
	if r := s.Running(); r[0].Restarts < 3 || r[1].Restarts != 0 {
		t.Errorf("%+v", r)
	}
	last := pid(1)
	cancel()
	<-stopped
	if err := syscall.Kill(last, 0); err == nil {
		t.Error("a child outlives the supervisor")
	}
	if !strings.Contains(out.String(), "process ended, starting it again") {
		t.Errorf("nothing said: %s", out.String())
	}
}

func TestChildThatCannotStartIsTriedAgain(t *testing.T) {
	s := NewSupervisor(slog.New(slog.DiscardHandler), io.Discard)
	ctx, cancel := context.WithTimeout(t.Context(), time.Second)
	defer cancel()
	s.Run(ctx, []Child{{Name: "none", Path: "/nonexistent" + string(os.PathSeparator) + "x"}})
	if r := s.Running(); r[0].Restarts < 2 {
		t.Errorf("%+v", r)
	}
}
