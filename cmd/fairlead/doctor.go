package main

import (
	"github.com/spf13/cobra"

	"fairlead/deploy/studio"
)

func newDoctorCommand() *cobra.Command {
	var asJSON bool
	c := &cobra.Command{
		Use:   "doctor",
		Short: "Find what would go wrong before the day begins",
		Long: `Looks at the data folder and its disk, the field maps and the folders of the
devices, the engine, the broker, the store, the console's port and the clock. It
starts nothing. Exit code 1 when something is bad, with what to try for each.`,
		Example: "  fairlead doctor --config studio.yaml",
		Args:    cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			config, err := loadConfig(c)
			if err != nil {
				return err
			}
			findings := config.Doctor(c.Context())
			bad := false
			for _, f := range findings {
				bad = bad || f.State == studio.Bad
			}
			if asJSON {
				err = printJSONLine(c.OutOrStdout(), findings)
			} else {
				err = studio.WriteFindings(c.OutOrStdout(), findings)
			}
			if err == nil && bad {
				return &exitError{1, nil}
			}
			return err
		},
	}
	withConfig(c)
	c.Flags().BoolVar(&asJSON, "json", false, "one JSON array")
	return c
}
