package main

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"fairlead/cmd/frame"
	pages "fairlead/dashboards/fleet"
	"fairlead/processors/ask/answers"
	"fairlead/processors/ask/enquiry"
	"fairlead/processors/golf/fleet"
)

func newFleetQuestionCommand() *cobra.Command {
	var a fleetAsk
	var id, attribute string
	var long strings.Builder
	long.WriteString("Answers a question of the trade as a table with sentences on top, and keeps the\nanswer: asked again of " +
		"the same data, it is read. The questions:\n\n")
	for _, k := range enquiry.Kinds() {
		fmt.Fprintf(&long, "  %-12s %s\n", k.Name, k.Asks)
	}
	long.WriteString("\n\"Not enough to say\" is an answer; the exit code is then 0 too.\n\nIt is asked of the newest snapshot " +
		"of the trials, as on the page, whose age is told; --fresh makes a new one first.")
	c := &cobra.Command{
		Use:   "question NAME",
		Short: "Ask what a group of studios asks: heads, stock, promises by fitter, months …",
		Long:  long.String(),
		Example: `  fairlead fleet question heads --config studio.yaml
  fairlead fleet question whom --config studio.yaml --attribute shaft_weight --csv
  fairlead fleet question calibration --config studio.yaml --svg promises.svg`,
		Args: func(_ *cobra.Command, args []string) error {
			if id == "" && len(args) != 1 {
				return errors.New("name one question: " + strings.Join(enquiry.Names(), ", "))
			}
			return nil
		},
		ValidArgs: enquiry.Names(),
	}
	a.where(c)
	f := c.Flags()
	f.StringVar(&a.q.Outcome, "outcome", "direction", fleet.OutcomeWords())
	f.StringVar(&attribute, "attribute", "", "the `attribute` whose step is asked about (default shaft_weight)")
	f.StringVar(&id, "answer", "", "print the kept answer with this `id` instead of asking")
	f.BoolVar(&a.again, "again", false, "compute anew what is kept already")
	f.StringVar(&a.svg, "svg", "", "draw into `FILE`")
	of := func(args []string) enquiry.Enquiry {
		e := enquiry.Enquiry{Outcome: a.q.Outcome, Attribute: attribute, Filter: a.q.Filter}
		if len(args) > 0 {
			e.Kind = args[0]
		}
		return e
	}
	right := func(args []string) error {
		if id != "" {
			return nil
		}
		_, err := of(args).Check()
		return err
	}
	return a.asks(c, right, func(ctx context.Context, f *answers.Fleet, args []string) error {
		var t *enquiry.Table
		var err error
		if id != "" {
			if t, err = enquiry.Kept(ctx, f, id); errors.Is(err, answers.ErrNoAnswer) {
				return frame.Use(fmt.Errorf("--answer %s: %w", id, err))
			}
		} else {
			t, err = enquiry.Ask(ctx, f, of(args), a.asking(c))
		}
		if err != nil {
			return err
		}
		if a.svg != "" {
			if err := a.drawTo(pages.TablePicture(t)); err != nil {
				return err
			}
		}
		return a.tell(c, t)
	})
}
