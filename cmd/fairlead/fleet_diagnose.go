package main

import (
	"context"

	"github.com/spf13/cobra"

	pages "fairlead/dashboards/fleet"
	"fairlead/processors/ask/answers"
)

func newFleetDiagnoseCommand() *cobra.Command {
	var a fleetAsk
	c := &cobra.Command{
		Use:   "diagnose",
		Short: "What there is to distrust about an answer of the fleet",
		Long: `Prints everything that was looked at about an answer, whether it is a worry or not:
order in the session, builds only ever chosen for one kind of player, bays whose
devices disagree, too few players, shots left out more often on one side, slopes
that cannot be told from noise, heavy tails. Exit code 1 when one of them is a worry.`,
		Example: `  fairlead fleet diagnose --config studio.yaml --outcome direction --category driver
  fairlead fleet diagnose --config studio.yaml --json`,
		Args: noArguments,
		RunE: func(c *cobra.Command, _ []string) error {
			q, err := a.question()
			if err != nil {
				return err
			}
			return a.with(c, func(ctx context.Context, f *answers.Fleet) error {
				s, err := f.Ask(ctx, q, a.asking(c))
				if err != nil {
					return err
				}
				told := pages.Diagnose(s)
				if err := a.tell(c, told); err != nil {
					return err
				}
				if told.Fired() && (a.asJSON || a.asCSV || s.Refused == "") {
					return &exitError{1, nil}
				}
				return nil
			})
		},
	}
	a.where(c)
	a.model(c)
	return c
}
