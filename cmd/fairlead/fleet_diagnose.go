package main

import (
	"context"

	"github.com/spf13/cobra"

	"fairlead/cmd/frame"
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
	}
	a.where(c)
	a.model(c)
	return a.asks(c, nil, func(ctx context.Context, f *answers.Fleet, _ []string) error {
		s, err := f.Ask(ctx, a.q, a.asking(c))
		if err != nil {
			return err
		}
		told := pages.Diagnose(s)
		return frame.ExitIf(told.Fired() && (frame.WantsJSON(c) || a.asCSV || s.Refused == ""), a.tell(c, told))
	})
}
