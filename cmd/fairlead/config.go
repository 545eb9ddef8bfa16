package main

import (
	"fairlead/cmd/frame"
	"fairlead/deploy/studio"
	"fmt"

	"github.com/spf13/cobra"
)

func newConfigCommand() *cobra.Command {
	c := &cobra.Command{Use: "config", Short: "Check a studio's configuration"}
	check := &cobra.Command{
		Use:   "check",
		Short: "Read the configuration and its field maps, and say everything that is wrong",
		Long: `Reads the configuration and every field map that it names. Nothing is started and
nothing is changed. Exit code 2 when something is wrong, with key, value and what
to try for each.`,
		Example: "  fairlead config check --config studio.yaml",
	}
	return frame.Group(c, frame.OfStudio(check, func(config *studio.Config, _ []string) error {
		if err := config.CheckMaps(); err != nil {
			return frame.Exit(2, err)
		}
		fmt.Fprintf(check.OutOrStdout(), "%s: studio %s with %d bays: all is well\n", config.File(), config.Studio, len(config.Bays))
		return nil
	}))
}
