package main

import (
	"context"
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	pages "fairlead/dashboards/fleet"
	"fairlead/processors/ask/answers"
)

func newFleetAdviseCommand() *cobra.Command {
	a := fleetAsk{q: answers.Question{Outcome: "direction"}}
	var player, stock string
	var o answers.Advising
	var most int
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
	}
	a.from(c)
	f := c.Flags()
	f.StringVar(&player, "player", "", "the player's `id` (required)")
	f.StringVar(&a.q.Filter.Category, "category", "driver", "which of the player's clubs")
	f.StringVar(&o.Outcome, "outcome", "", "what to advise by (default: the category's most important)")
	f.StringVar(&stock, "stock", "", "CSV `file` of the builds at hand")
	f.IntVar(&o.Shots, "shots", 10, "shots of a trial that would be hit")
	f.IntVar(&most, "most", 12, "how many builds to print")
	right := func([]string) (err error) {
		if player == "" {
			return errors.New("--player is missing: give the player's id")
		}
		if o.Shots < 5 {
			return fmt.Errorf("--shots %d: a trial needs at least five", o.Shots)
		}
		if o.Outcome != "" {
			a.q.Outcome = o.Outcome
			if err := a.check(c); err != nil {
				return err
			}
		}
		o.Stock, err = answers.ReadStockFile(stock)
		return err
	}
	return a.asks(c, right, func(ctx context.Context, f *answers.Fleet, _ []string) error {
		o.Asking = a.asking(c)
		got, err := f.Advise(ctx, player, a.q.Filter.Category, o)
		if err != nil {
			return err
		}
		return a.tell(c, pages.Counsel{Counsel: got, Most: most})
	})
}
