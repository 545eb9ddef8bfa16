package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"os"
	"path/filepath"
	"time"

	"github.com/spf13/cobra"

	"fairlead/deploy/studio"
	"fairlead/ingest/log/stream"
	"fairlead/processors/ask/audit"
	"fairlead/processors/sim"
)

// runDemo runs the demo studio; with --for it ends and is checked.
func runDemo(c *cobra.Command, o upOptions) error {
	dir, cleanup, err := demoDir(o)
	if err != nil {
		return err
	}
	defer cleanup()
	config, err := demoConfig(dir)
	if err != nil {
		return err
	}
	if o.quiet {
		c.SetErr(io.Discard)
	}
	ctx, p, err := startProcessWith(c, "up", config)
	if err != nil {
		return err
	}
	if err := refuseBadStart(c, config); err != nil {
		return err
	}
	var result *smokeResult
	ctx, done := context.WithCancel(ctx)
	defer done()
	err = supervise(ctx, c, config, p.log, func(ctx context.Context) error {
		fmt.Fprintf(c.OutOrStdout(), "demo studio in %s\nfour bays are hitting: open http://%s in a browser; Ctrl-C ends it\n", dir, config.Console.Listen)
		r, err := hit(ctx, c, o, config, p.log, dir)
		result = r
		if o.dur > 0 || err != nil {
			done()
		}
		return err
	})
	if err != nil {
		return err
	}
	if result == nil {
		return nil
	}
	if o.asJSON {
		if err := json.NewEncoder(c.OutOrStdout()).Encode(result); err != nil {
			return err
		}
	} else {
		result.print(c.OutOrStdout())
	}
	if result.bad() {
		return &exitError{1, nil}
	}
	return nil
}

// demoConfig writes the demo's configuration, on the usual ports where they are
// free. A folder that holds one keeps its ports, so that a demo goes on.
func demoConfig(dir string) (*studio.Config, error) {
	file := filepath.Join(dir, "studio.yaml")
	if fileExists(file) {
		return studio.Load(file)
	}
	var at [3]string
	for i, port := range []int{4222, 8123, 8080} {
		address, err := freeAddress(port)
		if err != nil {
			return nil, err
		}
		at[i] = address
	}
	if _, err := sim.DemoConfig(dir, sim.Addresses{Broker: at[0], Store: at[1], Console: at[2], Metrics: "127.0.0.1:0"}); err != nil {
		return nil, err
	}
	return studio.Load(file)
}

// hit lets the simulated bays hit. Without --for that goes on until ctx ends.
func hit(ctx context.Context, c *cobra.Command, o upOptions, config *studio.Config, log *slog.Logger, dir string) (*smokeResult, error) {
	if err := waitBays(ctx, config, log); err != nil {
		return nil, err
	}
	if o.dur == 0 {
		go fillFleet(ctx, config, log)
	}
	truth, err := os.OpenFile(filepath.Join(dir, "truth.ndjson"), os.O_CREATE|os.O_APPEND|os.O_WRONLY, 0o644)
	if err != nil {
		return nil, err
	}
	defer truth.Close()
	watch := newWatch(config)
	watching, stop := context.WithCancel(ctx)
	defer stop()
	for _, b := range config.Bays {
		go watch.follow(watching, b.Name)
	}
	summary, err := sim.RunBays(ctx, sim.Options{
		Studio: config.Studio, Bays: sim.DemoBays(dir), Hand: &sim.ConsoleHand{URL: "http://" + config.Console.Listen},
		Seed: o.seed, For: o.dur, Rate: o.rate, Truth: io.MultiWriter(truth, watch), Log: log,
	})
	if ctx.Err() != nil {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	if o.dur == 0 {
		return nil, errors.New("the simulated bays ended by themselves")
	}
	time.Sleep(300 * time.Millisecond) // the last shots are on their way to the page
	stop()
	return check(ctx, config, log, watch, summary)
}

// waitBays waits until every bay's collector answers and knows the hub's time:
// before that nobody would hit a ball.
func waitBays(ctx context.Context, config *studio.Config, log *slog.Logger) error {
	nc, _, err := stream.Connect(toolsLink(config, "demo", log))
	if err != nil {
		return err
	}
	defer nc.Close()
	for _, place := range config.Places() {
		for deadline := time.Now().Add(20 * time.Second); ; {
			h, err := audit.Ask(ctx, nc, place, time.Second)
			if err == nil && h.ClockRttNs > 0 {
				break
			}
			if ctx.Err() != nil {
				return nil
			}
			if time.Now().After(deadline) {
				return fmt.Errorf("bay %s is not ready after 20 s: %v: see the log lines above", place.Bay, err)
			}
			select {
			case <-ctx.Done():
				return nil
			case <-time.After(50 * time.Millisecond):
			}
		}
	}
	// The feeds begin within a moment of that.
	select {
	case <-ctx.Done():
	case <-time.After(1200 * time.Millisecond):
	}
	return nil
}
