package main

import (
	"context"

	"github.com/spf13/cobra"

	"fairlead/cmd/frame"
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
	return frame.AsTool(c, func(ctx context.Context, p *frame.Running) error {
		f.Shots, f.Visits = "shots."+p.Config.Studio+".*", "visits."+p.Config.Studio+".*"
		if bay != "" {
			if _, err := p.Config.Bay(bay); err != nil {
				return frame.Use(err)
			}
			f.Shots, f.Visits = p.Config.Place(bay).ShotsSubject(), p.Config.Place(bay).VisitsSubject()
		}
		nc, js, err := p.Config.ConnectTool(ctx, "tail", p.Log)
		if err != nil {
			return err
		}
		defer nc.Close()
		return tail.Follow(ctx, js, c.OutOrStdout(), f)
	})
}
