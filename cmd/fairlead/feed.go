package main

import "github.com/spf13/cobra"

// newFeedCommand groups what has to do with devices' output.
func newFeedCommand() *cobra.Command {
	c := &cobra.Command{
		Use:     "feed",
		Short:   "What devices write, and how it is read",
		Example: `  fairlead feed try --map testdata/feeds/alder.yaml testdata/feeds/alder.csv`,
		Args:    unknown("command feed"),
	}
	return group(c, newFeedTryCommand(), newFeedGuessCommand(), newFeedRereadCommand(), newFeedFieldsCommand(), newFeedUnitsCommand(),
		newFeedSchemaCommand(), newFeedReferenceCommand())
}
