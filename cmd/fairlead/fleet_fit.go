package main

import (
	"errors"
	"fmt"
	"os"

	"github.com/spf13/cobra"

	"fairlead/cmd/frame"
	"fairlead/processors/golf/fleet"
)

func newFleetFitCommand() *cobra.Command {
	var a fleet.WrittenFit
	var trials string
	c := &cobra.Command{
		Use:   "fit --trials FILE.csv --y COLUMN [--v COLUMN] --player COLUMN --fixed a,b,a:m",
		Short: "Fit the fleet's model to a file of trials or contrasts",
		Long: `Fits a linear mixed model by restricted maximum likelihood (REML) to a CSV file
with a header line and one row a trial, or a contrast:

  y = fixed terms + the player's own slopes + trial noise τ² + sampling noise v

The outcome y and its known sampling variance v are columns; without --v a
residual variance is estimated instead. A term is a column, a product a:m, or
a:a for curvature. Empty cells and NA are missing: rows without a number that
the model uses are left out and counted in the warnings.`,
		Example: `  # In the source tree: simulated trials, sessions swept out, slopes by player
  fairlead fleet fit --trials testdata/fleet/trials.csv --y y --v v \
    --player player --session session --session-level \
    --fixed length,lie,order,length:speed --random length,lie --test knha

  # The same with builds that many players hit, and studios in which length does something else
  fairlead fleet fit --trials testdata/fleet/crossed.csv --y y --v v \
    --player player --session session --session-level \
    --fixed length,lie --random length,lie --crossed build,studio:length

  # Contrasts that share a baseline within a session (covariance in column v0)
  fairlead fleet fit --trials testdata/fleet/contrasts.csv --y y --v v \
    --player player --session session --vcov shared --fixed length,lie --json`,
		RunE: func(c *cobra.Command, _ []string) error { return fleetFit(c, &a, trials) },
	}
	f := c.Flags()
	f.StringVar(&trials, "trials", "", "CSV file, or - for standard input (required)")
	f.StringVar(&a.Columns.Y, "y", "y", "column of the outcome")
	f.StringVar(&a.Columns.V, "v", "", "column of the known sampling variance of the outcome; without it a residual variance is estimated")
	f.StringVar(&a.Columns.Player, "player", "player", "column that names the player")
	f.StringVar(&a.Columns.Session, "session", "", "column that names the session within a player")
	f.BoolVar(&a.SessionLevel, "session-level", false, "give each session a fixed level of its own")
	f.StringVar(&a.Covariance, "vcov", "diag", "sampling covariance within a session: diag, or shared (covariance in column v0)")
	f.BoolVar(&a.Intercept, "intercept", false, "add an intercept")
	f.StringSliceVar(&a.Fixed, "fixed", nil, "fixed terms: columns, or products a:m")
	f.StringSliceVar(&a.Random, "random", nil, "terms whose slope varies by player; 1 is an intercept")
	f.StringSliceVar(&a.Crossed, "crossed", nil,
		"columns of names that players share, each name with an effect of its own: build, or studio:length for its own slope of length")
	f.StringVar(&a.RandomCovariance, "random-cov", "diag", "covariance of the random slopes: diag or full")
	f.StringVar(&a.Test, "test", "z", "z: normal intervals; knha: t intervals, scaled, never narrower")
	f.Bool("json", false, "print JSON")
	return c
}

func fleetFit(c *cobra.Command, a *fleet.WrittenFit, trials string) error {
	if trials == "" {
		return frame.Use(errors.New("--trials is missing: name the CSV file, or - for standard input"))
	}
	spec, opt, err := a.Spec()
	if err != nil {
		return frame.Use(err)
	}
	in, name := c.InOrStdin(), "standard input"
	if trials != "-" {
		f, err := os.Open(trials)
		if err != nil {
			return fmt.Errorf("trials: %w", err)
		}
		defer f.Close()
		in, name = f, trials
	}
	fit, notes, err := fleet.FitCSV(c.Context(), in, name, a.Columns, spec, opt)
	if err == nil {
		return frame.Tell(c, fit, fit)
	}
	// A program that reads the JSON finds the reason there too.
	var m *fleet.ModelError
	if frame.WantsJSON(c) && errors.As(err, &m) {
		if err := frame.PrintJSON(c.OutOrStdout(), fleet.Refuse(m, err.Error(), notes)); err != nil {
			return err
		}
	}
	for _, n := range notes {
		fmt.Fprintln(c.ErrOrStderr(), "fairlead: note:", n.Text)
	}
	return err
}
