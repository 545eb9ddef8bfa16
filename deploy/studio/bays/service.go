package bays

import (
	"context"
	"fmt"
	"os/exec"
	"slices"
	"strings"

	"fairlead/deploy/studio"
)

// Kinds of a service.
const (
	Systemd = "systemd"
	Windows = "windows"
	None    = "none" // it runs as long as `fairlead bay join` does
)

// serve has the collector run from now on, by the system's service manager where
// there is one; else here, and running then ends with it.
func (j Join) serve(ctx context.Context, c *studio.Config, bay string) (running <-chan error, err error) {
	kind := j.Service
	if kind == "" {
		kind = usual()
	}
	if !slices.Contains([]string{Systemd, Windows, None}, kind) {
		return nil, fmt.Errorf("--service %q: use systemd, windows or none", kind)
	}
	if kind != None {
		if err := j.install(ctx, kind, c, bay); err != nil {
			return nil, fmt.Errorf("install the service: %w: the bay is enrolled; run `%s` by hand meanwhile, deploy/systemd/README.md says how to "+
				"keep it running", err, j.command(c, bay))
		}
		return nil, nil
	}
	fmt.Fprintf(j.Out, "no service is installed: the collector runs here until this ends (%s)\n", j.command(c, bay))
	cmd := exec.CommandContext(ctx, j.Program, "collect", "--config", c.File(), "--bay", bay, "--with-parent")
	in, err := cmd.StdinPipe()
	if err != nil {
		return nil, err
	}
	cmd.Cancel = in.Close // it ends in order when its input does
	cmd.Stderr = j.Out
	if err := cmd.Start(); err != nil {
		return nil, fmt.Errorf("start the collector: %w", err)
	}
	ended := make(chan error, 1)
	go func() { ended <- cmd.Wait() }()
	return ended, nil
}

func (j Join) command(c *studio.Config, bay string) string {
	return strings.Join([]string{j.Program, "collect", "--config", c.File(), "--bay", bay}, " ")
}

// run runs a program of the system and says what it said when it fails.
func run(ctx context.Context, name string, args ...string) error {
	if out, err := exec.CommandContext(ctx, name, args...).CombinedOutput(); err != nil {
		return fmt.Errorf("%s %s: %w: %s", name, strings.Join(args, " "), err, strings.TrimSpace(string(out)))
	}
	return nil
}
