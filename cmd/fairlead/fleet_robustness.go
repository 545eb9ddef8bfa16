package main

import (
	"context"
	"errors"
	pages "fairlead/dashboards/fleet"
	"fmt"
	"io"
	"strconv"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"fairlead/dashboards/draw"
	"fairlead/processors/ask/answers"
	"fairlead/processors/golf/fleet"
)

func newFleetRobustnessCommand() *cobra.Command {
	var a fleetAsk
	var attribute string
	c := &cobra.Command{
		Use:   "robustness --attribute NAME",
		Short: "One sheet: the answer under every reasonable choice",
		Long: `Asks about one attribute again and again: without short trials, without trials that
had shots left out, with each ball, bay, studio and fitter left out in turn, and
with more and less in the model. A finding that turns with one of them is none.`,
		Example: `  fairlead fleet robustness --config studio.yaml --attribute shaft_weight
  fairlead fleet robustness --config studio.yaml --attribute length --outcome carry --svg sheet.svg`,
		Args: noArguments,
		RunE: func(c *cobra.Command, _ []string) error {
			q, err := a.question()
			if err != nil {
				return err
			}
			if attribute == "" {
				return &usageError{errors.New("--attribute is missing: name one, such as shaft_weight")}
			}
			return a.with(c, func(ctx context.Context, f *answers.Fleet) error {
				sheet, err := f.Robustness(ctx, q, attribute, a.asking(c))
				if err != nil {
					return err
				}
				return a.printSheet(c.OutOrStdout(), sheet)
			})
		},
	}
	a.where(c)
	a.model(c)
	c.Flags().StringVar(&attribute, "attribute", "", "the `attribute` to ask about (required)")
	c.Flags().StringVar(&a.svg, "svg", "", "draw the sheet into `FILE`")
	return c
}

func (a *fleetAsk) printSheet(w io.Writer, s *answers.Sheet) error {
	o, _ := fleet.FindOutcome(s.Question.Outcome)
	turn, unit, margin := func(x float64) float64 { return x }, o.Unit, o.Margin
	if o.Log {
		turn, unit, margin = o.Percent, "% of the spread", o.Percent(o.Margin)
	}
	attribute, _ := fleet.ParseAttribute(s.Attribute)
	if err := a.drawTo(func(f io.Writer) error {
		var rows []draw.Row
		for _, r := range s.Rows {
			if r.Refuse == "" {
				rows = append(rows, draw.Row{Group: r.Group, Label: r.Name, Value: turn(r.Change), Low: turn(r.Low), High: turn(r.High), Kind: r.Kind(), Says: r.Text(), Players: r.Players, Pairs: r.Trials})
			}
		}
		return draw.Forest(answers.OutcomeTitle(o.Name)+", "+attribute.StepText()+", under every reasonable choice", unit, o.Better, margin, rows).Write(f)
	}); err != nil {
		return err
	}
	switch {
	case a.asJSON:
		return printJSON(w, s)
	case a.asCSV:
		var rows [][]string
		for _, r := range s.Rows {
			rows = append(rows, []string{r.Group, r.Name, number(&r.Change), number(&r.Low), number(&r.High), strconv.Itoa(r.Players), strconv.Itoa(r.Trials), r.Way, r.Evidence, r.Margin, strconv.FormatBool(r.Agrees), strings.Join(r.Flips, "; "), r.Refuse})
		}
		return writeCSV(w, []string{"group", "choice", "change", "ci_low", "ci_high", "players", "trials", "way", "evidence", "margin", "agrees", "flips", "refused"}, rows)
	}
	fmt.Fprintf(w, "%s, %s, in %s\n", answers.OutcomeTitle(o.Name), attribute.StepText(), unit)
	pages.WriteMark(w, s.Mark)
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "\nchoice\t\tchange\t95 % interval\tplayers\tevidence\tmargin\tagrees")
	differ := 0
	for _, r := range s.Rows {
		agrees := "yes"
		if !r.Agrees {
			agrees = "NO"
			if len(r.Flips) > 0 {
				agrees += ": " + strings.Join(r.Flips, "; ")
			}
			differ++
		}
		if r.Refuse != "" {
			fmt.Fprintf(t, "%s\t%s\t–\t–\t%d\t%s\t\t–\n", r.Group, r.Name, r.Players, r.Refuse)
			continue
		}
		fmt.Fprintf(t, "%s\t%s\t%+.3g\t%.3g to %.3g\t%d\t%s\t%s\t%s\n", r.Group, r.Name, turn(r.Change), turn(r.Low), turn(r.High), r.Players, r.Evidence, r.Margin, agrees)
	}
	if err := t.Flush(); err != nil {
		return err
	}
	fmt.Fprintf(w, "\n%d of %d choices disagree with the answer as asked\n", differ, len(s.Rows)-1)
	pages.WriteNotes(w, s.Notes)
	return nil
}
