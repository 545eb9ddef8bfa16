package studio

import (
	"context"
	"fmt"
	"io"
	"log/slog"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"fairlead/ingest/log/alive"
)

// lineSeen passes lines on and tells of those with a word.
type lineSeen struct {
	io.Writer
	word string
	seen chan struct{}
}

func (l lineSeen) Write(p []byte) (int, error) {
	if strings.Contains(string(p), l.word) {
		select {
		case l.seen <- struct{}{}:
		default:
		}
	}
	return l.Writer.Write(p)
}

// livingChild names the setting that makes a test program a child.
const livingChild = "FAIRLEAD_LIVING_CHILD"

// living are kinds of children that begin otherwise than by saying that they live.
var living = map[string]func(t *testing.T){}

// TestLivingChild is the child of tests, and nothing by itself.
func TestLivingChild(t *testing.T) {
	kind := os.Getenv(livingChild)
	if kind == "" {
		return
	}
	if begin := living[kind]; begin != nil {
		begin(t)
	}
	alive.Keep(context.Background(), slog.New(slog.DiscardHandler), alive.Check{Name: "turn", Do: func(context.Context) error {
		fmt.Fprintln(os.Stderr, "turned")
		return nil
	}})
}

// A child that stands still, and so can't be asked to end, leaves what it did
// and is started again; one that lives is left alone.
func TestAHungChildIsEnded(t *testing.T) {
	t.Setenv(livingChild, "1")
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	var out buffer
	turned := make(chan struct{}, 1)
	s := NewSupervisor(slog.New(slog.NewTextHandler(&out, nil)), lineSeen{&out, "turned", turned})
	s.Dumps, s.Silence = filepath.Join(t.TempDir(), "dumps"), 4*time.Second
	changed := make(chan struct{}, 100)
	s.Changed = func([]Running) { changed <- struct{}{} }
	ctx, cancel := context.WithCancel(t.Context())
	stopped := make(chan struct{})
	go func() {
		s.Run(ctx, []Child{{Name: "one", Path: self, Args: []string{"-test.run=^TestLivingChild$"}}})
		close(stopped)
	}()
	defer func() { cancel(); <-stopped }()
	next := func(not int) int {
		for {
			<-changed
			if pid := s.Running()[0].Pid; pid != 0 && pid != not {
				return pid
			}
		}
	}
	hung := next(0)
	<-turned // from here on it is watched
	if err := syscall.Kill(hung, syscall.SIGSTOP); err != nil {
		t.Fatal(err)
	}
	next(hung)
	dumps, err := filepath.Glob(filepath.Join(s.Dumps, "one-*.txt"))
	if err != nil || len(dumps) == 0 {
		t.Fatalf("no dump: %v; %s", err, out.String())
	}
	text, err := os.ReadFile(dumps[0])
	if err != nil || !strings.Contains(string(text), "goroutine ") || !strings.Contains(string(text), "alive.Keep") {
		t.Errorf("it left %q, %v", text, err)
	}
	if !strings.Contains(out.String(), "does not say that it lives") {
		t.Errorf("nothing said: %s", out.String())
	}
}

// One that should speak and hangs before its first word is started again too.
func TestAChildThatHangsAtItsStartIsEnded(t *testing.T) {
	sleep, err := exec.LookPath("sleep")
	if err != nil {
		t.Fatal("no sleep: install coreutils")
	}
	s := NewSupervisor(slog.New(slog.DiscardHandler), io.Discard)
	s.Starting, s.Silence = 50*time.Millisecond, 50*time.Millisecond
	ctx, cancel := context.WithCancel(t.Context())
	begun := make(chan struct{}, 100)
	s.Changed = func(r []Running) {
		if r[0].Restarts > 0 {
			begun <- struct{}{}
		}
	}
	stopped := make(chan struct{})
	go func() {
		s.Run(ctx, []Child{{Name: "one", Path: sleep, Args: []string{"1000"}, Speaks: true},
			{Name: "other", Path: sleep, Args: []string{"1000"}}})
		close(stopped)
	}()
	<-begun
	if r := s.Running(); r[1].Restarts != 0 {
		t.Errorf("one that is not known to speak was ended: %+v", r)
	}
	cancel()
	<-stopped
}
