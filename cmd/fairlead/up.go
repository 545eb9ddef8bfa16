package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"runtime"
	"sync"
	"time"

	"github.com/spf13/cobra"

	"fairlead/deploy/engine"
	"fairlead/deploy/studio"
	"fairlead/ingest/log/alive"
)

// upOptions are the flags of `up`.
type upOptions struct {
	demo   bool
	dir    string
	dur    time.Duration
	asJSON bool
	seed   uint64
	rate   float64
	quiet  bool
}

func newUpCommand() *cobra.Command {
	var o upOptions
	c := &cobra.Command{
		Use:   "up",
		Short: "Run a whole studio on this machine, or a demo of one",
		Long: `Starts and watches every process of the studio that the configuration describes:
engine, broker, process, console and a collector for each bay. A process that dies
is started again within a second. Ctrl-C stops them in order.

--demo makes a studio with four simulated bays in a folder of its own and lets them
hit. With --for it ends after that time, checks every shot from the devices' files
to the store, and prints what it found; exit code 0 only when nothing is missing,
stored twice or tagged otherwise than the visit events say.`,
		Example: `  fairlead up --config studio.yaml
  fairlead up --demo
  fairlead up --demo --for 30s --json`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			if runtime.GOOS == "windows" {
				return errors.New("on Windows only `collect` and the tools run: run `fairlead up` on a Linux or macOS machine, and `fairlead collect` here with broker.url set to it")
			}
			if o.demo {
				return runDemo(c, o)
			}
			if o.dur > 0 {
				return &usageError{errors.New("--for goes with --demo")}
			}
			ctx, p, err := startProcess(c, "up")
			if err != nil {
				return err
			}
			if err := refuseBadStart(c, p.config); err != nil {
				return err
			}
			return supervise(ctx, c, p.config, p.log, func(context.Context) error {
				fmt.Fprintf(c.OutOrStdout(), "the console is at http://%s\n", p.config.Console.Listen)
				return nil
			})
		},
	}
	withProcess(c)
	c.Flags().BoolVar(&o.demo, "demo", false, "a demo studio with four simulated bays")
	c.Flags().StringVar(&o.dir, "dir", "", "folder of the demo studio (default: fairlead-demo; with --for a temporary one)")
	c.Flags().DurationVar(&o.dur, "for", 0, "end the demo after this time and check it")
	c.Flags().BoolVar(&o.asJSON, "json", false, "with --for: print the result as one JSON object on the last line")
	c.Flags().Uint64Var(&o.seed, "seed", 1, "seed of the simulated players, devices and fitters")
	c.Flags().Float64Var(&o.rate, "rate", 0.7, "hits a second in each simulated bay")
	c.Flags().BoolVar(&o.quiet, "quiet", false, "no log lines of the processes")
	return c
}

// refuseBadStart looks for trouble that would keep every restart from working:
// better said once and clearly than in a loop.
func refuseBadStart(c *cobra.Command, config *studio.Config) error {
	var problems []error
	for _, f := range config.Doctor(c.Context()) {
		if f.State == studio.Bad && f.Check != "clock" && f.Check != "broker key" && !isFeed(f.Check) {
			problems = append(problems, fmt.Errorf("%s: %s: %s", f.Check, f.Found, f.Try))
		}
	}
	return errors.Join(problems...)
}

// isFeed says whether a finding is about one feed: the rest runs without it.
func isFeed(check string) bool { return len(check) > 5 && check[:5] == "feed " }

// prepare makes the keys that the processes will ask for, so that none of them
// has to be started twice on the first day.
func prepare(config *studio.Config, log *slog.Logger) error {
	if config.Broker.URL == "" {
		if err := ensureKeys(config, log); err != nil {
			return err
		}
	}
	if config.Store.DSN == "" {
		if _, err := engine.EnsureToken(config.EngineTokenFile()); err != nil {
			return err
		}
	}
	return nil
}

// supervise runs the studio's processes while ready runs, and until ctx ends.
// ready is called once the console answers; when it returns, all is stopped.
func supervise(ctx context.Context, c *cobra.Command, config *studio.Config, log *slog.Logger, ready func(context.Context) error) error {
	self, err := os.Executable()
	if err != nil {
		return err
	}
	if err := prepare(config, log); err != nil {
		return err
	}
	out := c.ErrOrStderr()
	s := studio.NewSupervisor(log, out)
	s.Dumps = config.DataPath("dumps")
	s.Changed = func(r []studio.Running) {
		if err := config.WriteProcesses(r); err != nil {
			log.Debug("the list of processes was not written", "error", err)
		}
	}
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	go alive.Keep(ctx, log)
	var running sync.WaitGroup
	running.Go(func() { s.Run(ctx, config.Children(self)) })
	defer running.Wait()
	defer cancel()
	if err := waitHealthy(ctx, "http://"+config.Console.Listen+"/healthz", time.Minute); err != nil {
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

func demoDir(o upOptions) (string, func(), error) {
	if o.dir != "" {
		dir, err := filepath.Abs(o.dir)
		return dir, func() {}, err
	}
	if o.dur == 0 {
		dir, err := filepath.Abs("fairlead-demo")
		return dir, func() {}, err
	}
	dir, err := os.MkdirTemp("", "fairlead-demo-*")
	return dir, func() { os.RemoveAll(dir) }, err
}
