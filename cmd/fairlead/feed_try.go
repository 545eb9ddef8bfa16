package main

import (
	"errors"
	"math"

	"github.com/spf13/cobra"

	"fairlead/cmd/frame"
	"fairlead/ingest/bay/feed"
	"fairlead/processors/ask/guess"
)

func newFeedTryCommand() *cobra.Command {
	var mapFile string
	var strict bool
	c := &cobra.Command{
		Use:   "try --map MAP.yaml FILE...",
		Short: "Read a device's files through a field map, and show shots and rejects",
		Long: `Reads the files (- for standard input, a folder for every file in it), one
after the other as one feed, as a collector would, and prints each shot as one
JSON line on standard output, in SI with degrees and rpm, the unit in the key.
Lines that are no valid shot go to standard error with file, line, column,
value, the reason and what to try; a summary follows there: distinct shots,
later versions of a shot, repeated lines, and shots under a number that an
earlier shot has. What the physics of the shots says against the map follows
too, with the suspected cure. Nothing is kept.

Exit code 0 when the files were read, rejected lines or not; 1 when one can't
be read or held bytes and no line of data, or with --strict when a line was
rejected; 2 for a bad map, and then nothing but the map's error is printed.`,
		Example: `  fairlead feed try --map testdata/feeds/alder.yaml testdata/feeds/alder.csv
  fairlead feed try --map testdata/feeds/brook.yaml --strict - < testdata/feeds/brook.ndjson`,
		Args: frame.UpTo(1, math.MaxInt, "one file or more, a folder, or - for standard input"),
	}
	c.Flags().StringVar(&mapFile, "map", "", "field map of the device (required)")
	c.Flags().BoolVar(&strict, "strict", false, "exit code 1 when a line is rejected")
	c.Flags().Bool("json", false, "write rejects and the summary as JSON lines too")
	c.RunE = func(c *cobra.Command, args []string) error {
		if mapFile == "" {
			return frame.Use(errors.New("give the field map: --map FILE"))
		}
		m, err := feed.LoadMap(mapFile)
		if err != nil {
			return frame.Exit(2, err)
		}
		files, err := guess.Files(args)
		if err != nil {
			return err
		}
		t := guess.NewReading(m, c.OutOrStdout(), c.ErrOrStderr(), frame.WantsJSON(c))
		err = t.Files(files, c.InOrStdin())
		return frame.ExitIf(t.Mute() || strict && t.Rejected > 0, err)
	}
	return c
}
