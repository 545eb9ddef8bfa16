package main

import (
	"errors"
	"io"
	"log/slog"
	"time"

	"github.com/spf13/cobra"

	"fairlead/cmd/frame"
	"fairlead/deploy/studio"
	"fairlead/deploy/studio/demo"
	"fairlead/processors/sim"
)

func newSimBaysCommand() *cobra.Command {
	var (
		config, console, truth string
		o                      sim.Options
		speed                  float64
	)
	c := &cobra.Command{
		Use:   "bays",
		Short: "Let simulated players hit in a studio's bays, and a simulated fitter run their visits",
		Long: `Writes to the files that the studio's feeds follow, as their devices would, and
enters what the fitter does through the console. The fitter forgets one club
swap in ten and mends most of them. Only feeds with tail: are written to, and
only those whose field map is of a simulated device (see sim feed --help).

The last line is one JSON object; --truth keeps everything that is true of each
line and event as NDJSON.`,
		Example: `  fairlead up --demo &
  fairlead sim bays --config demo/studio.yaml --for 30s --rate 1 --truth truth.ndjson`,
		RunE: func(c *cobra.Command, _ []string) error {
			cfg, err := studio.Load(config)
			if err != nil {
				return frame.Use(err)
			}
			if speed != 0 {
				if c.Flags().Changed("rate") {
					return frame.Use(errors.New("give either --rate or --speed"))
				}
				o.Rate = speed / sim.SecondsBetweenHits
			}
			if !(o.Rate > 0) || o.For < 0 || o.Shots < 0 {
				return frame.Use(errors.New("--rate, --for and --shots must be above 0"))
			}
			if o.Forget == 0 {
				o.Forget = -1 // never, not the default
			}
			var token string // it is shown to the hub's own console alone
			if console == "" {
				console, token = cfg.ConsoleURL(), cfg.ConsoleToken()
			}
			o.Studio, o.Hand = cfg.Studio, &sim.ConsoleHand{URL: console, Token: token}
			o.Log = slog.New(slog.NewTextHandler(c.ErrOrStderr(), nil))
			if o.Bays, err = demo.Bays(cfg, c.ErrOrStderr()); err != nil {
				return frame.Use(err)
			}
			return sim.WithTruth(truth, func(w io.Writer) error {
				o.Truth = w
				summary, err := sim.RunBays(c.Context(), o)
				return errors.Join(frame.PrintJSONLine(c.OutOrStdout(), summary), err)
			})
		},
	}
	f := c.Flags()
	f.StringVar(&config, "config", "studio.yaml", "the studio's configuration `file`")
	f.StringVar(&console, "console", "", "`URL` of the console (default: where the configuration says it listens)")
	f.StringVar(&truth, "truth", "", "`file` to write the truth to, as NDJSON")
	f.Uint64Var(&o.Seed, "seed", 1, "what everything random follows from")
	f.DurationVar(&o.For, "for", 0, "how long; 0: until interrupted or --shots are hit")
	f.IntVar(&o.Shots, "shots", 0, "at most so many hits in each bay; 0: no end")
	f.Float64Var(&o.Rate, "rate", 0.5, "hits a second in each bay")
	f.Float64Var(&speed, "speed", 0, "instead of --rate: how many times faster than people, who hit every 25 seconds")
	f.DurationVar(&o.Quiet, "quiet", 250*time.Millisecond, "least time between a hit and what the fitter enters beside it")
	f.Float64Var(&o.Forget, "forget", 0.1, "share of the club swaps that the fitter does not enter at once")
	return c
}
