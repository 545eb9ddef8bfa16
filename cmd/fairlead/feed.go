package main

import (
	"github.com/spf13/cobra"

	"fairlead/cmd/frame"
)

// newFeedCommand groups what has to do with devices' output.
func newFeedCommand() *cobra.Command {
	c := &cobra.Command{
		Use:     "feed",
		Short:   "What devices write, and how it is read",
		Example: `  fairlead feed try --map testdata/feeds/alder.yaml testdata/feeds/alder.csv`,
		Args:    frame.Unknown("command feed"),
	}
	return frame.Group(c, newFeedTryCommand(), newFeedGuessCommand(), newFeedRereadCommand(), newFeedFieldsCommand(), newFeedUnitsCommand(),
		newFeedSchemaCommand(), newFeedReferenceCommand())
}
