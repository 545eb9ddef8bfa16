package main

import (
	"context"

	"github.com/spf13/cobra"

	"fairlead/ingest/log/tail"
)

func newTailCommand() *cobra.Command {
	var bay string
	var f tail.Following
	c := &cobra.Command{
		Use:   "tail",
		Short: "Show entries and visit events as they come, as JSON lines",
		Example: `  fairlead tail --config studio.yaml --bay north
  fairlead tail --config studio.yaml --all --limit 20`,
	}
	c.Flags().StringVar(&bay, "bay", "", "this bay only")
	c.Flags().BoolVar(&f.All, "all", false, "begin with what the log holds already")
	c.Flags().IntVar(&f.Limit, "limit", 0, "end after this many lines (0: never)")
	return asTool(c, func(ctx context.Context, p *running) error {
		f.Shots, f.Visits = "shots."+p.config.Studio+".*", "visits."+p.config.Studio+".*"
		if bay != "" {
			if _, err := p.config.Bay(bay); err != nil {
				return use(err)
			}
			f.Shots, f.Visits = p.config.Place(bay).ShotsSubject(), p.config.Place(bay).VisitsSubject()
		}
		nc, js, err := p.config.ConnectTool(ctx, "tail", p.log)
		if err != nil {
			return err
		}
		defer nc.Close()
		return tail.Follow(ctx, js, c.OutOrStdout(), f)
	})
}
