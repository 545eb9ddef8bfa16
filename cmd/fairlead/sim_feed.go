package main

import (
	"errors"
	"io"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"fairlead/cmd/frame"
	"fairlead/processors/sim"
)

func newSimFeedCommand() *cobra.Command {
	var (
		device, truth, start string
		printMap             bool
		o                    sim.Options
	)
	c := &cobra.Command{
		Use:   "feed FILE",
		Short: "Write the lines of one simulated device to a file",
		Long: `Appends what a simulated device writes while players hit, with its noise, missing
values, misreads and damaged lines, and prints one JSON object: what is in it.
The devices are ` + strings.Join(sim.ModelNames(), ", ") + `; --map prints the field map
that reads one.`,
		Example: `  fairlead sim feed --device larch --shots 200 --seed 7 larch.csv
  fairlead sim feed --device larch --map > larch.yaml
  fairlead feed try --map larch.yaml larch.csv`,
		Args: cobra.MaximumNArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			if printMap {
				text, err := sim.MapFile(device)
				if err != nil {
					_, err = sim.ModelNamed(device)
					return frame.Use(err)
				}
				_, err = c.OutOrStdout().Write(text)
				return err
			}
			if len(args) != 1 {
				return frame.Use(errors.New("name one file to write to"))
			}
			o, err := o.OneFile(device, args[0], start, time.Now())
			if err != nil {
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
	f.StringVar(&device, "device", "sorrel", "the simulated `device`")
	f.BoolVar(&printMap, "map", false, "print the device's field map instead")
	f.IntVar(&o.Shots, "shots", 100, "how many hits")
	f.Uint64Var(&o.Seed, "seed", 1, "what everything random follows from")
	f.StringVar(&o.Category, "category", "", "the kind of club, such as iron (default: mixed)")
	f.StringVar(&start, "start", "", "`time` of the first hit, RFC 3339 (default: now); the same time and seed give the same bytes")
	f.StringVar(&truth, "truth", "", "`file` to write the truth to, as NDJSON")
	return c
}
