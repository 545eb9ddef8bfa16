package main

import (
	"context"
	"errors"

	"github.com/spf13/cobra"

	pages "fairlead/dashboards/fleet"
	"fairlead/processors/ask/answers"
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
	}
	a.where(c)
	a.model(c)
	c.Flags().StringVar(&attribute, "attribute", "", "the `attribute` to ask about (required)")
	c.Flags().StringVar(&a.svg, "svg", "", "draw the sheet into `FILE`")
	right := func([]string) error {
		if attribute == "" {
			return errors.New("--attribute is missing: name one, such as shaft_weight")
		}
		return nil
	}
	return a.asks(c, right, func(ctx context.Context, f *answers.Fleet, _ []string) error {
		sheet, err := f.Robustness(ctx, a.q, attribute, a.asking(c))
		if err != nil {
			return err
		}
		told := pages.Sheet{Sheet: sheet}
		return errors.Join(a.drawTo(told.Picture()), a.tell(c, told))
	})
}
