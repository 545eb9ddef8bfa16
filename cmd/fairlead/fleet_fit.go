package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"slices"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"fairlead/processors/golf/fleet"
)

// fleetFit is the command line of `fleet fit`.
type fleetFit struct {
	trials                string
	cols                  fleet.CSVColumns
	fixed, random         []string
	intercept, level      bool
	vcov, randomCov, test string
	asJSON                bool
}

func newFleetFitCommand() *cobra.Command {
	var a fleetFit
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

  # Contrasts that share a baseline within a session (covariance in column v0)
  fairlead fleet fit --trials testdata/fleet/contrasts.csv --y y --v v \
    --player player --session session --vcov shared --fixed length,lie --json`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error { return a.run(c) },
	}
	f := c.Flags()
	f.StringVar(&a.trials, "trials", "", "CSV file, or - for standard input (required)")
	f.StringVar(&a.cols.Y, "y", "y", "column of the outcome")
	f.StringVar(&a.cols.V, "v", "", "column of the known sampling variance of the outcome; without it a residual variance is estimated")
	f.StringVar(&a.cols.Player, "player", "player", "column that names the player")
	f.StringVar(&a.cols.Session, "session", "", "column that names the session within a player")
	f.BoolVar(&a.level, "session-level", false, "give each session a fixed level of its own")
	f.StringVar(&a.vcov, "vcov", "diag", "sampling covariance within a session: diag, or shared (covariance in column v0)")
	f.BoolVar(&a.intercept, "intercept", false, "add an intercept")
	f.StringSliceVar(&a.fixed, "fixed", nil, "fixed terms: columns, or products a:m")
	f.StringSliceVar(&a.random, "random", nil, "terms whose slope varies by player; 1 is an intercept")
	f.StringVar(&a.randomCov, "random-cov", "diag", "covariance of the random slopes: diag or full")
	f.StringVar(&a.test, "test", "z", "z: normal intervals; knha: t intervals, scaled, never narrower")
	f.BoolVar(&a.asJSON, "json", false, "print JSON")
	return c
}

// spec checks the flags against each other.
func (a *fleetFit) spec() (fleet.Spec, fleet.Options, error) {
	s := fleet.Spec{Fixed: a.fixed, Random: a.random, Intercept: a.intercept, SessionLevel: a.level}
	var o fleet.Options
	wrong := func(format string, args ...any) (fleet.Spec, fleet.Options, error) {
		return s, o, &usageError{fmt.Errorf(format, args...)}
	}
	if a.trials == "" {
		return wrong("--trials is missing: name the CSV file, or - for standard input")
	}
	if len(a.fixed) == 0 && !a.intercept {
		return wrong("nothing to estimate: name --fixed terms, or add --intercept")
	}
	if a.cols.V == "" {
		s.Variance = fleet.Estimated
	}
	switch a.vcov {
	case "diag":
	case "shared":
		if a.cols.Session == "" || a.cols.V == "" {
			return wrong("--vcov shared needs --session, the rows that share a baseline, and --v")
		}
		s.Variance = fleet.Shared
		a.cols.V0 = "v0"
	default:
		return wrong("--vcov %q: use diag or shared", a.vcov)
	}
	switch a.randomCov {
	case "diag":
	case "full":
		s.FullCovariance = true
	default:
		return wrong("--random-cov %q: use diag or full", a.randomCov)
	}
	switch a.test {
	case "z":
	case "knha":
		o.Test = fleet.KnappHartung
	default:
		return wrong("--test %q: use z or knha", a.test)
	}
	if a.level && a.cols.Session == "" {
		return wrong("--session-level needs --session, the column that names the session")
	}
	for _, t := range append(slices.Clone(a.fixed), a.random...) {
		for _, c := range strings.Split(t, ":") {
			if c = strings.TrimSpace(c); c != "" && c != fleet.Constant && !slices.Contains(a.cols.Used, c) {
				a.cols.Used = append(a.cols.Used, c)
			}
		}
	}
	return s, o, nil
}

func (a *fleetFit) run(c *cobra.Command) error {
	spec, opt, err := a.spec()
	if err != nil {
		return err
	}
	in := c.InOrStdin()
	if a.trials != "-" {
		f, err := os.Open(a.trials)
		if err != nil {
			return fmt.Errorf("trials: %w", err)
		}
		defer f.Close()
		in = f
	}
	fit, notes, err := a.fit(c.Context(), in, spec, opt)
	if err != nil {
		// A program that reads the JSON finds the reason there too.
		var m *fleet.ModelError
		if a.asJSON && errors.As(err, &m) {
			if werr := printJSON(c.OutOrStdout(), fleetRefusal{Terms: []fleet.Estimate{}, Error: err.Error(), Blamed: m.Terms, Warnings: append([]fleet.Warning{}, notes...)}); werr != nil {
				return werr
			}
		}
		for _, n := range notes {
			fmt.Fprintln(c.ErrOrStderr(), "fairlead: note:", n.Text)
		}
		return err
	}
	if a.asJSON {
		return printJSON(c.OutOrStdout(), fit)
	}
	return printFit(c.OutOrStdout(), fit)
}

// fit reads and estimates; the warnings of the reading lead those of the fit.
func (a *fleetFit) fit(ctx context.Context, in io.Reader, s fleet.Spec, o fleet.Options) (*fleet.Fit, []fleet.Warning, error) {
	name := a.trials
	if name == "-" {
		name = "standard input"
	}
	t, err := fleet.ReadCSV(in, a.cols)
	if err != nil {
		return nil, nil, fmt.Errorf("%s: %w", name, err)
	}
	d, notes, err := t.Data(s)
	if err != nil {
		return nil, notes, fmt.Errorf("%s: %w", name, err)
	}
	f, err := d.Fit(ctx, o)
	if err != nil {
		return nil, notes, fmt.Errorf("%s: %w", name, err)
	}
	f.Warnings = append(notes, f.Warnings...)
	return f, nil, nil
}

// fleetRefusal is the JSON of a question that the data cannot answer.
type fleetRefusal struct {
	Terms    []fleet.Estimate `json:"terms"`
	Error    string           `json:"error"`
	Blamed   []string         `json:"blamed"`
	Warnings []fleet.Warning  `json:"warnings"`
}

// printFit shows a fit for people.
func printFit(w io.Writer, f *fleet.Fit) error {
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(t, "term\testimate\tse\t95 % interval\tnext player\tp\t")
	for _, e := range f.Terms {
		next := "–"
		if e.PILow != nil {
			next = fmt.Sprintf("%.4g … %.4g", *e.PILow, *e.PIHigh)
		}
		fmt.Fprintf(t, "%s\t%.5g\t%.4g\t%.4g … %.4g\t%s\t%.3g\t\n", e.Name, e.Value, e.SE, e.CILow, e.CIHigh, next, e.P)
	}
	if err := t.Flush(); err != nil {
		return err
	}
	fmt.Fprintf(w, "\ntrial noise τ² %.5g (sd %.4g)\n", f.Tau2, math.Sqrt(f.Tau2))
	for i, r := range f.Random {
		fmt.Fprintf(w, "slope of %s varies between players with sd %.4g", r.Name, r.SD)
		for k := 0; k < i; k++ {
			if f.RandomCor[i][k] != 0 {
				fmt.Fprintf(w, ", correlation with %s %.3f", f.Random[k].Name, f.RandomCor[i][k])
			}
		}
		fmt.Fprintln(w)
	}
	fmt.Fprintf(w, "log likelihood %.4f, REML criterion %.4f; %d rows, %d players, %d sessions\n", f.LogLik, f.REML, f.K, f.Players, f.Sessions)
	for _, n := range f.Warnings {
		fmt.Fprintln(w, "note:", n.Text)
	}
	return nil
}
