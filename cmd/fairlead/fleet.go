package main

import (
	"github.com/spf13/cobra"

	"fairlead/cmd/frame"
)

// newFleetCommand groups the questions asked across players. Each answer has a
// file of its own and one line here.
func newFleetCommand() *cobra.Command {
	c := &cobra.Command{
		Use:   "fleet",
		Short: "Ask across players which builds tighten dispersion, for which swings, and how sure one may be",
		Args:  frame.Unknown("question"),
	}
	return frame.Group(c,
		newFleetFitCommand(),
		newFleetPowerCommand(),
		newFleetEffectsCommand(),
		newFleetAdviseCommand(),
		newFleetCompareCommand(),
		newFleetDiagnoseCommand(),
		newFleetRobustnessCommand(),
		newFleetQuestionCommand(),
		newFleetFreezeCommand(),
		newFleetRefitCommand(),
		newFleetRowsCommand(),
	)
}
