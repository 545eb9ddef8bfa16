package main

import (
	"context"
	"errors"
	pages "fairlead/dashboards/fleet"
	"fmt"
	"io"
	"strconv"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"fairlead/dashboards/draw"
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
				return &usageError{errors.New("name two builds; --list prints their keys")}
			}
			return nil
		},
		RunE: func(c *cobra.Command, args []string) error {
			q, err := a.question()
			if err != nil {
				return err
			}
			return a.with(c, func(ctx context.Context, f *answers.Fleet) error {
				if list {
					return a.listBuilds(ctx, c, f)
				}
				got, err := f.Compare(ctx, q.Outcome, q.Filter, args[0], args[1], a.asking(c))
				if err != nil {
					return err
				}
				return a.printAgainst(c.OutOrStdout(), got)
			})
		},
	}
	a.where(c)
	c.Flags().StringVar(&a.outcome, "outcome", "direction", fleet.OutcomeWords())
	c.Flags().BoolVar(&list, "list", false, "list the builds that the fleet tried")
	c.Flags().StringVar(&a.svg, "svg", "", "draw the interval into `FILE`")
	a.level = 0.95
	return c
}

func (a *fleetAsk) listBuilds(ctx context.Context, c *cobra.Command, f *answers.Fleet) error {
	mark, err := f.Refresh(ctx)
	if err != nil {
		return err
	}
	builds, err := f.Builds(ctx, mark.Snapshot, a.filter.Category, 1000)
	if err != nil {
		return err
	}
	w := c.OutOrStdout()
	if a.asJSON {
		type build struct {
			Key     string `json:"build"`
			Name    string `json:"name"`
			Players uint64 `json:"players"`
			Trials  uint64 `json:"trials"`
		}
		out := []build{}
		for _, b := range builds {
			out = append(out, build{b.Key, b.Name, b.Players, b.Trials})
		}
		return printJSON(w, out)
	}
	if a.asCSV {
		var rows [][]string
		for _, b := range builds {
			rows = append(rows, []string{b.Key, b.Name, strconv.FormatUint(b.Players, 10), strconv.FormatUint(b.Trials, 10)})
		}
		return writeCSV(w, []string{"build", "name", "players", "trials"}, rows)
	}
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "build\tname\tplayers\ttrials")
	for _, b := range builds {
		fmt.Fprintf(t, "%s\t%s\t%d\t%d\n", b.Key, b.Name, b.Players, b.Trials)
	}
	return t.Flush()
}

func (a *fleetAsk) printAgainst(w io.Writer, got *answers.Against) error {
	r := got.Comparison
	if r != nil {
		if err := a.drawTo(func(f io.Writer) error {
			o, _ := fleet.FindOutcome(r.Outcome)
			turn, unit, margin := func(x float64) float64 { return x }, o.Unit, o.Margin
			if o.Log {
				turn, unit, margin = o.Percent, "% of the spread", o.Percent(o.Margin)
			}
			row := draw.Row{Group: "B less A", Label: "next to each other", Value: turn(r.Change), Low: turn(r.Low), High: turn(r.High), Kind: r.Kind(), Says: r.Text(), Players: r.Players, Pairs: r.Levels}
			if r.PILow != nil && r.PIHigh != nil {
				low, high := turn(*r.PILow), turn(*r.PIHigh)
				row.PILow, row.PIHigh = &low, &high
			}
			return draw.Forest(answers.OutcomeTitle(r.Outcome)+": "+r.B+" against "+r.A, unit, o.Better, margin, []draw.Row{row}).Write(f)
		}); err != nil {
			return err
		}
	}
	switch {
	case a.asJSON:
		return printJSON(w, got)
	case a.asCSV:
		rows := [][]string{}
		if r != nil {
			rows = append(rows, []string{r.Outcome, r.A, r.B, number(&r.Change), number(&r.SE), number(&r.Low), number(&r.High), number(r.PILow), number(r.PIHigh), number(&r.P), number(&r.Better), strconv.Itoa(r.Players), strconv.Itoa(r.Levels), strconv.Itoa(r.Trials), r.Way, r.Evidence, r.Margin})
		}
		return writeCSV(w, []string{"outcome", "a", "b", "change", "se", "ci_low", "ci_high", "pi_low", "pi_high", "p", "chance_better", "players", "levels", "trials", "way", "evidence", "margin"}, rows)
	}
	pages.WriteMark(w, got.Mark)
	if r == nil {
		fmt.Fprintln(w, "Not enough to say:", got.Refused)
		return nil
	}
	change := fmt.Sprintf("%+.3g (%.3g to %.3g)", r.Change, r.Low, r.High)
	if o, _ := fleet.FindOutcome(r.Outcome); o.Log {
		change = fmt.Sprintf("%+.1f %% of the spread (%.1f to %.1f)", o.Percent(r.Change), o.Percent(r.Low), o.Percent(r.High))
	}
	fmt.Fprintf(w, "%s, %s against %s: %s\n%s; better for the next player with a chance of %.0f %%\n", answers.OutcomeTitle(r.Outcome), r.B, r.A, change, r.Text(), 100*r.Better)
	fmt.Fprintf(w, "%d players, %d levels, %d trials\n", r.Players, r.Levels, r.Trials)
	pages.WriteNotes(w, append(got.Notes, r.Warnings...))
	return nil
}
