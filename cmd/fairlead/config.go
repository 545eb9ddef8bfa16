package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"fairlead/ingest/bay/feed"
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
			var problems []error
			for _, b := range config.Bays {
				for _, f := range b.Feeds {
					if _, err := feed.LoadMap(config.Path(f.Map)); err != nil {
						problems = append(problems, fmt.Errorf("bay %s, feed %s: %w", b.Name, f.Name, err))
					}
				}
			}
			if len(problems) > 0 {
				return &exitError{2, errors.Join(problems...)}
			}
			fmt.Fprintf(c.OutOrStdout(), "%s: studio %s with %d bays: all is well\n", config.File(), config.Studio, len(config.Bays))
			return nil
		},
	}
	withConfig(check)
	c.AddCommand(check)
	return c
}
