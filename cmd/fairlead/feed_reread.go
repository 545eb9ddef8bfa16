package main

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/spf13/cobra"

	"fairlead/cmd/frame"
	"fairlead/ingest/bay/collector"
)

func newFeedRereadCommand() *cobra.Command {
	var mapFile, bay, name, from, to, header string
	var write bool
	c := &cobra.Command{
		Use:   "reread --map MAP.yaml --bay BAY --feed FEED",
		Short: "Read the lines that a bay's journal holds again, with a corrected map",
		Long: `Runs on the bay's machine, whether its collector runs or not. Every line of the
feed that the journals keep is read anew from its raw text, and what would
change is said: values, refused lines that become shots, shots that the map
leaves out. With --write it is done: the new readings are added to the journal,
which stays as it is otherwise, and tags, statistics, papers and replays follow,
since of several readings of a line the latest counts. When a shot was hit, and
with which build, is not touched by another map. A second reading, with the
first map too, undoes the first.

Correct the feed's map in the configuration as well, or new lines go on being
read with the old one.

Exit code 0 when the lines were read; 2 for a bad map or a bad argument.`,
		Example: `  fairlead feed reread --config studio.yaml --map maps/alder.yaml --bay north --feed ball --from 2026-05-01
  fairlead feed reread --config studio.yaml --map maps/alder.yaml --bay north --feed ball --from 2026-05-01 --write`,
	}
	f := c.Flags()
	f.StringVar(&mapFile, "map", "", "the corrected field map (required)")
	f.StringVar(&bay, "bay", "", "bay of the configuration (required)")
	f.StringVar(&name, "feed", "", "feed of the bay (default: its only one)")
	f.StringVar(&from, "from", "", "lines from this day or time on, such as 2026-05-01 or 2026-05-01T09:00:00Z")
	f.StringVar(&to, "to", "", "lines before this day or time")
	f.StringVar(&header, "header", "", "a file with the table's header, for lines of before the journal kept it")
	f.BoolVar(&write, "write", false, "do it; without, only what would change is said")
	f.Bool("json", false, "write the report as one JSON object")
	return frame.AsTool(c, func(ctx context.Context, p *frame.Running) error {
		r := collector.Reread{At: time.Now(), Write: write}
		if err := r.Between(from, to); err != nil {
			return frame.Use(err)
		}
		if mapFile == "" || bay == "" {
			return frame.Use(errors.New("give the corrected map and the bay: --map FILE --bay BAY"))
		}
		b, err := p.Config.Bay(bay)
		if err == nil {
			r.Feed, err = b.FeedNamed(name)
		}
		if err != nil {
			return frame.Use(err)
		}
		if err := r.ReadMap(mapFile, header); err != nil {
			return frame.Exit(2, err)
		}
		report, err := collector.AskReread(ctx, p.Config.Place(bay), p.Config.JournalDir(bay), r, p.Log)
		if err != nil {
			return err
		}
		if frame.WantsJSON(c) {
			return frame.PrintJSONLine(c.OutOrStdout(), report)
		}
		if err := report.WriteText(c.OutOrStdout()); err != nil || write || report.Added == 0 {
			return err
		}
		_, err = fmt.Fprintln(c.ErrOrStderr(), "nothing was written: give --write to do it")
		return err
	})
}
