package main

import (
	"context"
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"fairlead/cmd/frame"
	"fairlead/processors/ask/answers"
)

func newFleetFreezeCommand() *cobra.Command {
	var a fleetAsk
	c := &cobra.Command{
		Use:   "freeze ANSWER",
		Short: "Keep the data of an answer, so that it can be refitted later",
		Long: `Keeps the snapshot that an answer was made of: it is not swept when newer data
come. Players who are forgotten, or take their consent back, leave it all the same.`,
		Example: `  fairlead fleet freeze 3f2a9c04d1e5b678 --config studio.yaml`,
		Args:    cobra.ExactArgs(1),
	}
	a.from(c)
	return ofAnswer(&a, c, func(ctx context.Context, f *answers.Fleet, id string) error {
		n, err := f.Freeze(ctx, id)
		if err != nil {
			return err
		}
		_, err = fmt.Fprintf(c.OutOrStdout(), "answer %s is frozen with %d trials; refit it with `fairlead fleet refit %s`\n", id, n, id)
		return err
	})
}

func newFleetRefitCommand() *cobra.Command {
	var a fleetAsk
	c := &cobra.Command{
		Use:   "refit ANSWER",
		Short: "Compute a kept answer again from the data it was made of, and compare",
		Long: `Fits the model again over the snapshot that an answer was made of, and says by how
much its terms moved: not at all, unless players were forgotten or the model is
another one. What is kept stays as it is.`,
		Example: `  fairlead fleet refit 3f2a9c04d1e5b678 --config studio.yaml --json`,
		Args:    cobra.ExactArgs(1),
	}
	a.from(c)
	return ofAnswer(&a, c, func(ctx context.Context, f *answers.Fleet, id string) error {
		got, err := f.Refit(ctx, id, a.asking(c))
		if err != nil {
			return err
		}
		return frame.Tell(c, got, got)
	})
}

func newFleetRowsCommand() *cobra.Command {
	var a fleetAsk
	c := &cobra.Command{
		Use:   "rows ANSWER",
		Short: "The rows that an answer's model saw, as CSV, to refit it elsewhere",
		Long: `Writes the rows of a kept answer: player, session and level (rows of one level may be
compared), the outcome y with its sampling variance v, attributes in steps from the
reference build, order in the session, and traits of the swing as the model takes
them. deploy/analysts has scripts that fetch and refit them.`,
		Example: `  fairlead fleet rows 3f2a9c04d1e5b678 --config studio.yaml > rows.csv`,
		Args:    cobra.ExactArgs(1),
	}
	a.from(c)
	return ofAnswer(&a, c, func(ctx context.Context, f *answers.Fleet, id string) error {
		_, err := f.RowsCSV(ctx, c.OutOrStdout(), id)
		return err
	})
}

// ofAnswer lets a command do something with the answer that its argument names.
func ofAnswer(a *fleetAsk, c *cobra.Command, do func(ctx context.Context, f *answers.Fleet, id string) error) *cobra.Command {
	a.q.Outcome = "direction" // of no answer: only to be a question at all
	return a.asks(c, nil, func(ctx context.Context, f *answers.Fleet, args []string) error {
		err := do(ctx, f, args[0])
		if errors.Is(err, answers.ErrNoAnswer) {
			return frame.Use(fmt.Errorf("%s: %w; `fairlead fleet effects --kept` lists them", args[0], err))
		}
		return err
	})
}
