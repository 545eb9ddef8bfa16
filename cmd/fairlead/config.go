package main

import (
	"fmt"

	"github.com/spf13/cobra"
)

func newConfigCommand() *cobra.Command {
	c := &cobra.Command{Use: "config", Short: "Check a studio's configuration", Args: cobra.NoArgs, RunE: func(c *cobra.Command, _ []string) error { return c.Help() }}
	check := &cobra.Command{
		Use:   "check",
		Short: "Read the configuration and its field maps, and say everything that is wrong",
		Long: `Reads the configuration and every field map that it names. Nothing is started and
nothing is changed. Exit code 2 when something is wrong, with key, value and what
to try for each.`,
		Example: "  fairlead config check --config studio.yaml",
		Args:    cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			config, err := loadConfig(c)
			if err != nil {
				return err
			}
			if err := config.CheckMaps(); err != nil {
				return &exitError{2, err}
			}
			fmt.Fprintf(c.OutOrStdout(), "%s: studio %s with %d bays: all is well\n", config.File(), config.Studio, len(config.Bays))
			return nil
		},
	}
	withConfig(check)
	c.AddCommand(check)
	return c
}
