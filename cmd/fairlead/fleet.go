package main

import (
	"fmt"

	"github.com/spf13/cobra"
)

// newFleetCommand groups the questions asked across players. Each answer has a
// file of its own and one line here.
func newFleetCommand() *cobra.Command {
	c := &cobra.Command{
		Use:   "fleet",
		Short: "Ask across players which builds tighten dispersion, for which swings, and how sure one may be",
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) > 0 {
				return &usageError{fmt.Errorf("unknown question %q", args[0])}
			}
			return nil
		},
		RunE: func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	c.AddCommand(
		newFleetFitCommand(),
		newFleetPowerCommand(),
		newFleetEffectsCommand(),
		newFleetAdviseCommand(),
		newFleetCompareCommand(),
		newFleetDiagnoseCommand(),
		newFleetRobustnessCommand(),
	)
	return c
}
