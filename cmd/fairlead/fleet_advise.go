package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strconv"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"fairlead/processors/ask/answers"
)

func newFleetAdviseCommand() *cobra.Command {
	var a fleetAsk
	var player, stock string
	var shots, most int
	c := &cobra.Command{
		Use:   "advise --player ID",
		Short: "Rank builds for one player, and say which two or three to hit first",
		Long: `Ranks candidate builds for one player by what the fleet says of swings like theirs
and by the player's own trials so far: expected gain with the interval for this
player, the chance that it is better than the own club, and what it does to carry.
The builds worth hitting first weigh gain and what would be learned.

Candidates are the builds that most players tried, or those of a list of stock: CSV
with a column build and any of length, loft, lie, shaft_weight, flex, torque,
head_weight, swing_weight (values with units: 45.5in, 65g, R, D2). Hit what is
advised before choosing it: advice is expectation, not proof.`,
		Example: `  fairlead fleet advise --config studio.yaml --player 7f3a --category driver
  fairlead fleet advise --config studio.yaml --player 7f3a --stock stock.csv --json`,
		Args: noArguments,
		RunE: func(c *cobra.Command, _ []string) error {
			if player == "" {
				return &usageError{errors.New("--player is missing: give the player's id")}
			}
			given := c.Flags().Changed("outcome")
			if !given {
				a.outcome = "direction"
			}
			if _, err := a.question(); err != nil {
				return err
			}
			if shots < 5 {
				return &usageError{fmt.Errorf("--shots %d: a trial needs at least five", shots)}
			}
			o := answers.Advising{Shots: shots, Asking: a.asking(c)}
			if given {
				o.Outcome = a.outcome
			}
			if stock != "" {
				f, err := os.Open(stock)
				if err != nil {
					return &usageError{fmt.Errorf("stock: %w", err)}
				}
				o.Stock, err = answers.ReadStock(f)
				if err = errors.Join(err, f.Close()); err != nil {
					return &usageError{fmt.Errorf("%s: %w", stock, err)}
				}
			}
			return a.with(c, func(ctx context.Context, f *answers.Fleet) error {
				got, err := f.Advise(ctx, player, a.filter.Category, o)
				var unknown *answers.UnknownPlayerError
				if errors.As(err, &unknown) {
					return &usageError{err}
				}
				if err != nil {
					return err
				}
				return a.printCounsel(c.OutOrStdout(), got, most)
			})
		},
	}
	a.level = 0.95
	withConfig(c)
	f := c.Flags()
	f.StringVar(&a.dsn, "clickhouse", os.Getenv("FAIRLEAD_CLICKHOUSE"), "`address` of the store instead of the configuration's (default: $FAIRLEAD_CLICKHOUSE)")
	f.StringVar(&player, "player", "", "the player's `id` (required)")
	f.StringVar(&a.filter.Category, "category", "driver", "which of the player's clubs")
	f.StringVar(&a.outcome, "outcome", "", "what to advise by (default: the category's most important)")
	f.StringVar(&stock, "stock", "", "CSV `file` of the builds at hand")
	f.IntVar(&shots, "shots", 10, "shots of a trial that would be hit")
	f.IntVar(&most, "most", 12, "how many builds to print")
	f.BoolVar(&a.stale, "as-of-last-snapshot", false, "do not look for trials that came since the last snapshot")
	f.BoolVar(&a.quiet, "quiet", false, "no progress on standard error")
	f.BoolVar(&a.asJSON, "json", false, "print JSON")
	f.BoolVar(&a.asCSV, "csv", false, "print CSV")
	return c
}

func (a *fleetAsk) printCounsel(w io.Writer, c *answers.Counsel, most int) error {
	if a.asJSON {
		return printJSON(w, c)
	}
	if a.asCSV {
		var rows [][]string
		for _, s := range c.Advice {
			rows = append(rows, []string{s.Build, s.Name, number(&s.Gain), number(&s.GainLow), number(&s.GainHigh), number(&s.Better), number(s.Carry), number(&s.Learn), strconv.Itoa(s.Try), s.Why})
		}
		return writeCSV(w, []string{"build", "name", "gain", "gain_low", "gain_high", "chance_better", "carry_change_m", "worth_trying", "try", "why"}, rows)
	}
	fmt.Fprintf(w, "Player %s, %s, by %s\n", c.Player, c.Category, answers.OutcomeTitle(c.Outcome))
	fmt.Fprintf(w, "from %d players of the fleet (answer %s), a profile of %d shots and %d own trials; own club carries %.0f m\n", c.Fleet, c.Answer, c.Shots, c.Own, c.CarryNow)
	for _, n := range c.Notes {
		fmt.Fprintln(w, "note:", n)
	}
	if c.Refused != "" {
		fmt.Fprintln(w, "\nNot enough to say:", c.Refused)
		return nil
	}
	fmt.Fprintln(w, "\nHit first:")
	for _, s := range c.TryNext() {
		fmt.Fprintf(w, "  %d. %s: %s\n", s.Try, s.Name, s.Why)
		for _, e := range s.Evidence {
			fmt.Fprintf(w, "       %s\n", e)
		}
	}
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "\nbuild\texpected gain\tinterval for this player\tbetter\tcarry")
	for i, s := range c.Advice {
		if i == most {
			break
		}
		carry := "–"
		if s.Carry != nil {
			carry = fmt.Sprintf("%+.1f m", *s.Carry)
		}
		fmt.Fprintf(t, "%s\t%+.3g\t%.3g to %.3g\t%.0f %%\t%s\n", s.Name, s.Gain, s.GainLow, s.GainHigh, 100*s.Better, carry)
	}
	if err := t.Flush(); err != nil {
		return err
	}
	fmt.Fprintln(w, "gain: of a spread as a logarithm, 0.10 is about a tenth tighter; of carry in m")
	return nil
}
