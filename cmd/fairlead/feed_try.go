package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"fairlead/ingest/bay/feed"
	"fairlead/processors/ask/guess"
)

func newFeedTryCommand() *cobra.Command {
	var mapFile string
	var strict, asJSON bool
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
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) == 0 {
				return &usageError{fmt.Errorf("give one file or more, a folder, or - for standard input; %d given", len(args))}
			}
			return nil
		},
	}
	c.Flags().StringVar(&mapFile, "map", "", "field map of the device (required)")
	c.Flags().BoolVar(&strict, "strict", false, "exit code 1 when a line is rejected")
	c.Flags().BoolVar(&asJSON, "json", false, "write rejects and the summary as JSON lines too")
	c.RunE = func(c *cobra.Command, args []string) error {
		if mapFile == "" {
			return &usageError{errors.New("give the field map: --map FILE")}
		}
		m, err := feed.LoadMap(mapFile)
		if err != nil {
			return &exitError{2, err}
		}
		files, err := guess.Files(args)
		if err != nil {
			return err
		}
		t := guess.NewReading(m, c.OutOrStdout(), c.ErrOrStderr(), asJSON)
		if err := t.Files(files, c.InOrStdin()); err != nil {
			return err
		}
		if t.Mute() || strict && t.Rejected > 0 {
			return &exitError{code: 1}
		}
		return nil
	}
	return c
}
