package main

import (
	"slices"

	"github.com/spf13/cobra"

	"fairlead/deploy/studio"
)

func newDoctorCommand() *cobra.Command {
	c := &cobra.Command{
		Use:   "doctor",
		Short: "Find what would go wrong before the day begins",
		Long: `Looks at the data folder and its disk, the field maps and the folders of the
devices, the engine, the broker, the store, the console's port and the clock. It
starts nothing. Exit code 1 when something is bad, with what to try for each.`,
		Example: "  fairlead doctor --config studio.yaml",
	}
	c.Flags().Bool("json", false, "one JSON array")
	return ofStudio(c, func(config *studio.Config, _ []string) error {
		findings := studio.Findings(config.Doctor(c.Context()))
		bad := slices.ContainsFunc(findings, func(f studio.Finding) bool { return f.State == studio.Bad })
		return exitIf(bad, tellLine(c, findings, findings))
	})
}
