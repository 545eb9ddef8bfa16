package studio

import (
	"context"
	"io"
	"log/slog"
	"os"
	"runtime"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"golang.org/x/sys/unix"
)

func init() {
	living["starved"] = starve
	living["busy"] = func(*testing.T) { go busy(new(atomic.Bool)) }
}

// starve begins the child anew as one that gets what others leave of one processor, and
// that has more to do than that. It does not return.
func starve(t *testing.T) {
	runtime.LockOSThread()
	if err := unix.SchedSetaffinity(0, firstProcessor(t)); err != nil {
		t.Fatal(err)
	}
	if err := unix.SchedSetAttr(0, &unix.SchedAttr{Size: unix.SizeofSchedAttr, Policy: unix.SCHED_IDLE}, 0); err != nil {
		t.Fatal(err)
	}
	os.Setenv(livingChild, "busy")
	os.Setenv("GOMAXPROCS", "1")
	t.Fatal(syscall.Exec(os.Args[0], os.Args, os.Environ()))
}

func firstProcessor(t *testing.T) *unix.CPUSet {
	var all, one unix.CPUSet
	if err := unix.SchedGetaffinity(0, &all); err != nil {
		t.Fatal(err)
	}
	for i := range 8 * len(all) {
		if all.IsSet(i) {
			one.Set(i)
			break
		}
	}
	return &one
}

// busy takes all of a processor until it is told to stop.
func busy(stop *atomic.Bool) {
	for !stop.Load() {
	}
}

// A child that lives and gets no time says nothing either: it is waited for, and told
// of; but not for ever.
func TestAStarvedChildIsWaitedFor(t *testing.T) {
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	t.Setenv(livingChild, "starved")
	var out buffer
	turned, told := make(chan struct{}, 1), make(chan struct{}, 1)
	again := make(chan struct{}, 1)
	log := lineSeen{lineSeen{&out, "gives it no time", told}, "starting it again", again}
	s := NewSupervisor(slog.New(slog.NewTextHandler(log, nil)), lineSeen{io.Discard, "turned", turned})
	s.Silence, s.EvenStarved = 300*time.Millisecond, time.Hour
	child := Child{Name: "one", Path: self, Args: []string{"-test.run=^TestLivingChild$"}}
	run := func(s *Supervisor) (end func()) {
		stopped := make(chan struct{})
		var stop atomic.Bool
		busyEnded := make(chan struct{})
		go func() {
			defer close(busyEnded)
			runtime.LockOSThread() // and not given back: no other goroutine is to have its processor
			if err := unix.SchedSetaffinity(0, firstProcessor(t)); err != nil {
				t.Error(err)
			}
			<-turned // from here on it is watched
			busy(&stop)
		}()
		ctx, cancel := context.WithCancel(t.Context())
		go func() { s.Run(ctx, []Child{child}); close(stopped) }()
		return func() { stop.Store(true); <-busyEnded; cancel(); <-stopped }
	}
	end := run(s)
	select {
	case <-told:
	case <-again:
		t.Errorf("it was ended: %s", out.String())
	}
	end()

	for len(turned) > 0 {
		<-turned
	}
	s = NewSupervisor(slog.New(slog.NewTextHandler(log, nil)), lineSeen{io.Discard, "turned", turned})
	s.Silence, s.EvenStarved = 300*time.Millisecond, time.Millisecond
	end = run(s)
	<-again
	end()
}
