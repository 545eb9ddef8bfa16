package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"os"
	"time"

	"github.com/spf13/cobra"

	"fairlead/deploy/studio"
	"fairlead/ingest/bay/feed"
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
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			cfg, err := studio.Load(config)
			if err != nil {
				return &usageError{err}
			}
			if speed != 0 {
				if c.Flags().Changed("rate") {
					return &usageError{errors.New("give either --rate or --speed")}
				}
				o.Rate = speed / secondsBetweenHits
			}
			if !(o.Rate > 0) || o.For < 0 || o.Shots < 0 {
				return &usageError{errors.New("--rate, --for and --shots must be above 0")}
			}
			if o.Forget == 0 {
				o.Forget = -1 // never, not the default
			}
			if console == "" {
				console = "http://" + cfg.Console.Listen
			}
			o.Studio, o.Hand = cfg.Studio, &sim.ConsoleHand{URL: console}
			o.Log = slog.New(slog.NewTextHandler(c.ErrOrStderr(), nil))
			if o.Bays, err = simBays(cfg, c.ErrOrStderr()); err != nil {
				return &usageError{err}
			}
			return withTruth(truth, func(w io.Writer) error {
				o.Truth = w
				summary, err := sim.RunBays(c.Context(), o)
				return errors.Join(printJSONLine(c.OutOrStdout(), summary), err)
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

// secondsBetweenHits is the pace of people in a fitting.
const secondsBetweenHits = 25

// simBays finds the feeds of a studio that a simulated device can write to.
func simBays(cfg *studio.Config, warn io.Writer) ([]sim.Bay, error) {
	var out []sim.Bay
	for _, b := range cfg.Bays {
		bay := sim.Bay{Name: b.Name}
		for _, f := range b.Feeds {
			path := cfg.Path(f.Map)
			m, err := feed.LoadMap(path)
			if err != nil {
				return nil, fmt.Errorf("bay %s, feed %s: %w", b.Name, f.Name, err)
			}
			if f.Tail == "" {
				fmt.Fprintf(warn, "fairlead: bay %s, feed %s: not simulated, only tail: feeds are\n", b.Name, f.Name)
				continue
			}
			if _, err := sim.ModelNamed(m.Device()); err != nil {
				fmt.Fprintf(warn, "fairlead: bay %s, feed %s: not simulated: %v\n", b.Name, f.Name, err)
				continue
			}
			text, err := os.ReadFile(path)
			if err != nil {
				return nil, fmt.Errorf("bay %s, feed %s: %w", b.Name, f.Name, err)
			}
			bay.Feeds = append(bay.Feeds, sim.Feed{Name: f.Name, Device: m.Device(), Map: text, Path: cfg.Path(f.Tail)})
		}
		if len(bay.Feeds) > 0 {
			out = append(out, bay)
		}
	}
	return out, nil
}

// withTruth runs f with the truth file open, buffered; w is nil without a file.
func withTruth(path string, f func(w io.Writer) error) error {
	if path == "" {
		return f(nil)
	}
	file, err := os.Create(path)
	if err != nil {
		return fmt.Errorf("truth: %w", err)
	}
	b := bufio.NewWriterSize(file, 1<<16)
	return errors.Join(f(b), b.Flush(), file.Close())
}
