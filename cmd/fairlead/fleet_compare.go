package main

import (
	"context"
	"errors"

	"github.com/spf13/cobra"

	pages "fairlead/dashboards/fleet"
	"fairlead/processors/ask/answers"
	"fairlead/processors/golf/fleet"
)

func newFleetCompareCommand() *cobra.Command {
	var a fleetAsk
	var list bool
	c := &cobra.Command{
		Use:   "compare BUILD-A BUILD-B",
		Short: "What one build does where another was hit too",
		Long: `Compares two named builds over the runs of trials in which both were hit by one
player with the same ball, surface and device: B less A. Builds are named by the
keys that --list prints.`,
		Example: `  fairlead fleet compare --config studio.yaml --list
  fairlead fleet compare --config studio.yaml --category driver --list --json`,
		Args: func(_ *cobra.Command, args []string) error {
			if !list && len(args) != 2 {
				return errors.New("name two builds; --list prints their keys")
			}
			return nil
		},
	}
	a.where(c)
	c.Flags().StringVar(&a.q.Outcome, "outcome", "direction", fleet.OutcomeWords())
	c.Flags().BoolVar(&list, "list", false, "list the builds that the fleet tried")
	c.Flags().StringVar(&a.svg, "svg", "", "draw the interval into `FILE`")
	return a.asks(c, nil, func(ctx context.Context, f *answers.Fleet, args []string) error {
		if list {
			builds, err := f.BuildsNow(ctx, a.q.Filter.Category, 1000)
			if err != nil {
				return err
			}
			return a.tell(c, pages.ListBuilds(builds))
		}
		got, err := f.Compare(ctx, a.q.Outcome, a.q.Filter, args[0], args[1], a.asking(c))
		if err != nil {
			return err
		}
		told := pages.Against{Against: got}
		return errors.Join(a.drawTo(told.Picture()), a.tell(c, told))
	})
}
