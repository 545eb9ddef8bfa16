package copies

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

	"fairlead/deploy/studio"
	"fairlead/processors/ask/audit"
)

const (
	// proveWithin is how long a restored hub may take until it has put away what
	// was under way when the copy was taken.
	proveWithin = 15 * time.Minute
	bayWithin   = time.Second
)

// prove runs the hub on a data folder by itself, on free ports of the loopback,
// until an audit finds nothing wrong: engine, broker, processor and console, and
// the journals of bays that stand there, without their devices. Bays with PCs of
// their own can't be asked and stay unknown.
func prove(ctx context.Context, c *studio.Config, program, data string, log *slog.Logger) (audit.Report, error) {
	dir, err := os.MkdirTemp("", "fairlead-prove-*")
	if err != nil {
		return audit.Report{}, err
	}
	defer os.RemoveAll(dir)
	alone, err := standIn(c, dir, data)
	if err != nil {
		return audit.Report{}, err
	}
	said := &last{}
	s := studio.NewSupervisor(log, said)
	running, stop := context.WithCancel(ctx)
	var group sync.WaitGroup
	defer group.Wait()
	defer stop()
	group.Go(func() { s.Run(running, hubOnly(alone, program)) })
	late, cancel := context.WithTimeout(ctx, proveWithin)
	defer cancel()
	if err := studio.WaitHealthy(late, alone.Client(2*time.Second), alone.ConsoleURL()+"/healthz", 2*time.Minute); err != nil {
		return audit.Report{}, fmt.Errorf("the restored hub does not start: %w\n%s", err, said)
	}
	report, err := clean(late, alone, log)
	if err != nil {
		return report, fmt.Errorf("the restored hub can't be audited: %w\n%s", err, said)
	}
	return report, nil
}

// clean audits until nothing is wrong, or the time is over. Processes that are
// not there yet are tried again.
func clean(ctx context.Context, c *studio.Config, log *slog.Logger) (report audit.Report, err error) {
	for begun := time.Now(); ; {
		r, err := auditOnce(ctx, c, log)
		if err == nil {
			report = r
			log.Info("audited", "after", time.Since(begun).Round(time.Millisecond), "wrong", r.Wrong())
		} else {
			log.Info("not audited yet", "error", err)
		}
		switch {
		case err == nil && !r.Wrong():
			return r, nil
		case errors.Is(ctx.Err(), context.DeadlineExceeded) && len(report.Bays) > 0:
			return report, nil // what was wrong to the end
		case ctx.Err() != nil:
			return report, errors.Join(ctx.Err(), err)
		}
		select {
		case <-ctx.Done():
		case <-time.After(time.Second):
		}
	}
}

func auditOnce(ctx context.Context, c *studio.Config, log *slog.Logger) (audit.Report, error) {
	s, err := c.OpenAnswering(ctx)
	if err != nil {
		return audit.Report{}, err
	}
	defer s.Close()
	nc, js, err := c.ConnectTool(ctx, "audit", log)
	if err != nil {
		return audit.Report{}, err
	}
	defer nc.Close()
	return audit.Auditor{Conn: nc, JS: js, Store: s, Wait: bayWithin, Tags: true}.Run(ctx, c.Studio, c.Places())
}

// standIn is the configuration of a hub that runs by itself on a data folder.
func standIn(c *studio.Config, dir, data string) (*studio.Config, error) {
	var at [3]string
	for i := range at {
		address, err := studio.FreeAddress(0)
		if err != nil {
			return nil, err
		}
		at[i] = address
	}
	var b strings.Builder
	fmt.Fprintf(&b, "studio: %s\ndata: %q\nunits: %s\nbroker: {listen: %q}\nstore: {listen: %q, memory: %q}\nconsole: {listen: "+
		"%q}\nmetrics: {listen: \"127.0.0.1:0\"}\n",
		c.Studio, data, c.Units, at[0], at[1], c.Store.Memory, at[2])
	fmt.Fprintf(&b, "journal: {retention: %s, min_free: %q}\nbays:\n", time.Duration(c.Journal.Retention), c.Journal.MinFree)
	for _, bay := range c.Bays {
		fmt.Fprintf(&b, "  - name: %s\n", bay.Name)
	}
	file := filepath.Join(dir, "studio.yaml")
	if err := os.WriteFile(file, []byte(b.String()), 0o600); err != nil {
		return nil, err
	}
	return studio.Load(file)
}

// hubOnly are the processes of a hub, and of the journals that stand on it.
func hubOnly(c *studio.Config, program string) (out []studio.Child) {
	for _, child := range c.Children(program) {
		if child.Name != "watch" {
			out = append(out, child)
		}
	}
	for _, b := range c.Bays {
		if files, _ := filepath.Glob(filepath.Join(c.JournalDir(b.Name), "*.journal")); len(files) > 0 {
			out = append(out, studio.Child{Name: "collect-" + b.Name, Path: program,
				Args: []string{"collect", "--config", c.File(), "--with-parent", "--bay", b.Name}})
		}
	}
	return out
}

// last keeps the end of what the processes say.
type last struct {
	mu   sync.Mutex
	text []byte
}

var _ io.Writer = (*last)(nil)

func (l *last) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.text = append(l.text, p...)
	if n := len(l.text) - 8000; n > 0 {
		l.text = append(l.text[:0], l.text[n:]...)
	}
	return len(p), nil
}

func (l *last) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return string(l.text)
}
