package main

import (
	"fmt"

	"github.com/spf13/cobra"
)

// newFeedCommand groups what has to do with devices' output.
func newFeedCommand() *cobra.Command {
	c := &cobra.Command{
		Use:     "feed",
		Short:   "What devices write, and how it is read",
		Example: `  fairlead feed try --map testdata/feeds/alder.yaml testdata/feeds/alder.csv`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) > 0 {
				return &usageError{fmt.Errorf("unknown command feed %q", args[0])}
			}
			return nil
		},
		RunE: func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	c.AddCommand(newFeedTryCommand(), newFeedGuessCommand(), newFeedFieldsCommand(), newFeedUnitsCommand())
	return c
}
