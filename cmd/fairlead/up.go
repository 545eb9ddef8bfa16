package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"runtime"

	"github.com/spf13/cobra"

	"fairlead/cmd/frame"
	"fairlead/deploy/studio/demo"
)

func newUpCommand() *cobra.Command {
	var isDemo, quiet bool
	var d demo.Demo
	c := &cobra.Command{
		Use:   "up",
		Short: "Run a whole studio on this machine, or a demo of one",
		Long: `Starts and watches every process of the studio that the configuration describes:
engine, broker, process, console and a collector for each bay. A process that dies
is started again within a second. Ctrl-C stops them in order.

--demo makes a studio with four simulated bays in a folder of its own and lets them
hit; its processes log to demo.log in that folder. With --for it ends after that time, checks every shot from the devices' files
to the store, and prints what it found; exit code 0 only when nothing is missing,
stored twice or tagged otherwise than the visit events say.`,
		Example: `  fairlead up --config studio.yaml
  fairlead up --demo
  fairlead up --demo --for 30s --json`,
	}
	c.Flags().BoolVar(&isDemo, "demo", false, "a demo studio with four simulated bays")
	c.Flags().StringVar(&d.Dir, "dir", "", "folder of the demo studio (default: fairlead-demo; with --for a temporary one)")
	c.Flags().DurationVar(&d.For, "for", 0, "end the demo after this time and check it")
	c.Flags().Bool("json", false, "with --for: print the result as one JSON object on the last line")
	c.Flags().Uint64Var(&d.Seed, "seed", 1, "seed of the simulated players, devices and fitters")
	c.Flags().Float64Var(&d.Rate, "rate", 0.7, "hits a second in each simulated bay")
	c.Flags().BoolVar(&quiet, "quiet", false, "no log lines of the processes")
	frame.AsProcess(c, func(ctx context.Context, p *frame.Running) error {
		if err := p.Config.RefuseBadStart(ctx); err != nil {
			return err
		}
		return p.Config.Up(ctx, c.ErrOrStderr(), p.Log, func(context.Context) error {
			fmt.Fprintf(c.OutOrStdout(), "the console is at %s\n", p.Config.ConsoleURL())
			return nil
		})
	})
	configured := c.RunE
	c.RunE = func(c *cobra.Command, args []string) error {
		switch {
		case runtime.GOOS == "windows":
			return errors.New("on Windows only `collect` and the tools run: run `fairlead up` on a Linux or macOS machine, " +
				"and `fairlead collect` here with broker.url set to it")
		case isDemo:
			return runDemo(c, &d, quiet)
		case d.For > 0:
			return frame.Use(errors.New("--for goes with --demo"))
		}
		return configured(c, args)
	}
	return c
}

// runDemo runs the demo studio; with --for it ends and says what was found.
func runDemo(c *cobra.Command, d *demo.Demo, quiet bool) error {
	config, end, err := d.Open()
	defer end()
	if err != nil {
		return err
	}
	switch {
	case quiet:
		c.SetErr(io.Discard)
	case d.For == 0: // the screen is for what there is to see
		f, err := os.OpenFile(d.LogFile(), os.O_CREATE|os.O_APPEND|os.O_WRONLY, 0o644)
		if err != nil {
			return err
		}
		defer f.Close()
		c.SetErr(f)
	}
	ctx, p, err := frame.Start(c, "up", config)
	if err != nil {
		return err
	}
	result, err := d.Run(ctx, c.OutOrStdout(), c.ErrOrStderr(), p.Log)
	if err != nil || result == nil {
		return err
	}
	return frame.ExitIf(result.Bad(), frame.TellLine(c, result, result))
}
