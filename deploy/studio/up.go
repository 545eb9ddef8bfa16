package studio

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"time"

	"fairlead/deploy/engine"
	"fairlead/ingest/log/alive"
)

// RefuseBadStart looks for trouble that would keep every restart from working:
// better said once and clearly than in a loop.
func (c *Config) RefuseBadStart(ctx context.Context) error {
	if err := c.RefuseClear(); err != nil {
		return err
	}
	if err := c.refuseOlder(); err != nil {
		return err
	}
	var problems []error
	d := &doctor{c: c}
	d.disk()
	d.feeds()
	d.own(ctx, false)
	for _, f := range d.findings {
		// The rest of a studio runs without one feed.
		if f.State == Bad && f.Check != "clock" && f.Check != "broker key" && !strings.HasPrefix(f.Check, "feed ") {
			problems = append(problems, fmt.Errorf("%s: %s: %s", f.Check, f.Found, f.Try))
		}
	}
	return errors.Join(problems...)
}

// EnsureKeys makes the studio's credentials that are not there yet. A revoked
// one, whose seed is there and whose grant is not, stays revoked.
func (c *Config) EnsureKeys(log *slog.Logger) error {
	keyring := c.Keyring()
	for _, g := range c.Credentials() {
		if g.Bay != "" && isThere(filepath.Join(c.InvitedDir(), g.Bay, "invitation.json")) {
			continue // its PC makes the key, and gives the public part
		}
		if isThere(keyring.SeedFile(g.Name)) && !isThere(keyring.GrantFile(g.Name)) {
			log.Warn("this key was revoked and stays so", "key", g.Name)
			continue
		}
		if err := keyring.Ensure(g); err != nil {
			return err
		}
	}
	return c.carryAuthority(log)
}

func isThere(path string) bool {
	_, err := os.Stat(path)
	return err == nil
}

// prepare makes the keys that the processes will ask for, so that none of them
// has to be started twice on the first day.
func (c *Config) prepare(log *slog.Logger) error {
	if c.Broker.URL == "" {
		if err := c.EnsureKeys(log); err != nil {
			return err
		}
	}
	if c.Store.DSN == "" {
		if _, err := engine.EnsureToken(c.EngineTokenFile()); err != nil {
			return err
		}
		if _, err := c.PagesDSN(); err != nil {
			return err
		}
	}
	return c.noteProgram()
}

// Up runs the studio's processes, whose lines go to out, until ctx ends. ready
// is called once the console answers; an error of it stops all of them.
func (c *Config) Up(ctx context.Context, out io.Writer, log *slog.Logger, ready func(context.Context) error) error {
	self, err := os.Executable()
	if err != nil {
		return err
	}
	if err := c.prepare(log); err != nil {
		return err
	}
	s := NewSupervisor(log, out)
	s.Dumps = c.DataPath("dumps")
	s.Changed = func(r []Running) {
		if err := c.WriteProcesses(r); err != nil {
			log.Debug("the list of processes was not written", "error", err)
		}
	}
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	go alive.Keep(ctx, log)
	var running sync.WaitGroup
	running.Go(func() { s.Run(ctx, c.Children(self)) })
	running.Go(func() {
		c.Reload(ctx, log, func(is *Config, renew []string) {
			if err := is.prepare(log); err != nil {
				log.Error("keys for what changed", "error", err)
			}
			s.Become(ctx, is.Children(self), renew)
		})
	})
	defer running.Wait()
	defer cancel()
	if err := WaitHealthy(ctx, c.Client(2*time.Second), c.ConsoleURL()+"/healthz", time.Minute); err != nil {
		if ctx.Err() != nil {
			return nil
		}
		return err
	}
	if err := ready(ctx); err != nil {
		return err
	}
	<-ctx.Done()
	return nil
}
