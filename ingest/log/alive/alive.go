// Package alive tells whoever started a process that it lives: systemd, and
// `fairlead up`, by the same words (sd_notify: WATCHDOG=1 to the socket that
// NOTIFY_SOCKET names). A process that says nothing for the time that
// WATCHDOG_USEC gives it is taken for hung, and ended.
package alive

import (
	"context"
	"errors"
	"log/slog"
	"net"
	"os"
	"strconv"
	"sync/atomic"
	"time"
)

// Check says whether a part of the process turns; it gives up with ctx.
type Check struct {
	Name string
	Do   func(ctx context.Context) error
}

// A Part comes while the process starts. Before that it is not missed: a log that is
// read anew takes as long as it takes.
type Part struct {
	turns atomic.Pointer[func(context.Context) error]
}

// Is says that the part is there, and how to look whether it turns.
func (p *Part) Is(turns func(ctx context.Context) error) { p.turns.Store(&turns) }

// Turns looks whether it does; a part that is yet to come passes.
func (p *Part) Turns(ctx context.Context) error {
	if turns := p.turns.Load(); turns != nil {
		return (*turns)(ctx)
	}
	return nil
}

// Answers is Turns for who wants to use it: one that is yet to come does not.
func (p *Part) Answers(ctx context.Context) error {
	if p.turns.Load() == nil {
		return errors.New("has not started yet: its log says what it waits for")
	}
	return p.Turns(ctx)
}

// Keep says that the process lives as long as all checks pass, until ctx ends.
// It returns at once where nobody asked for it.
func Keep(ctx context.Context, log *slog.Logger, checks ...Check) {
	socket, every := asked(os.Getenv, os.Getpid())
	if socket == "" {
		return
	}
	tick := time.NewTicker(every / 3)
	defer tick.Stop()
	keep(ctx, socket, tick.C, every/3, log, checks)
}

func keep(ctx context.Context, socket string, tick <-chan time.Time, within time.Duration, log *slog.Logger, checks []Check) {
	say(socket, "READY=1\nWATCHDOG=1")
	said := ""
	for {
		select {
		case <-ctx.Done():
			say(socket, "STOPPING=1")
			return
		case <-tick:
		}
		if why := First(ctx, within, checks...); why != "" {
			if why != said {
				log.Error("a part of this process does not turn", "part", why)
			}
			said = why
			continue
		}
		said = ""
		say(socket, "WATCHDOG=1")
	}
}

// First says which check fails or does not end in time; empty: none.
func First(ctx context.Context, within time.Duration, checks ...Check) string {
	for _, c := range checks {
		if err := inTime(ctx, within, c.Do); err != nil && ctx.Err() == nil {
			return c.Name + ": " + err.Error()
		}
	}
	return ""
}

// inTime does not wait for a check that heeds no context: that is what it is to find.
func inTime(ctx context.Context, within time.Duration, do func(context.Context) error) error {
	ctx, cancel := context.WithTimeout(ctx, within)
	defer cancel()
	done := make(chan error, 1)
	go func() { done <- do(ctx) }()
	select {
	case err := <-done:
		return err
	case <-ctx.Done():
		return ctx.Err()
	}
}

// asked reads what the parent asked for: where to say it, and how often at least.
func asked(env func(string) string, pid int) (socket string, every time.Duration) {
	us, err := strconv.ParseInt(env("WATCHDOG_USEC"), 10, 64)
	if err != nil || us <= 0 {
		return "", 0
	}
	if p := env("WATCHDOG_PID"); p != "" && p != strconv.Itoa(pid) {
		return "", 0 // it is our parent who is watched
	}
	return env("NOTIFY_SOCKET"), time.Duration(us) * time.Microsecond
}

func say(socket, words string) {
	c, err := net.DialTimeout("unixgram", socket, time.Second)
	if err != nil {
		return // nobody listens any more: nothing depends on it
	}
	defer c.Close()
	c.SetWriteDeadline(time.Now().Add(time.Second))
	c.Write([]byte(words))
}
