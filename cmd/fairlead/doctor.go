package main

import (
	"slices"

	"github.com/spf13/cobra"

	"fairlead/cmd/frame"
	"fairlead/deploy/studio"
)

func newDoctorCommand() *cobra.Command {
	var place string
	c := &cobra.Command{
		Use:   "doctor",
		Short: "Find what would go wrong before the day begins",
		Long: `On the hub: data folder and disk, field maps and folders of devices, engine, broker,
whether all bays answer, streams and their copies, store, backup, the console's port and
the clock. On a bay's PC (a configuration with feeds that reaches a broker elsewhere):
disk, feeds, the bay's key, whether the hub takes it and knows the bay, the clock, and
whether the collector runs; no engine is wanted there. It starts nothing.

Exit code 0: nothing is bad, though there may be warnings. 1: something is bad, with what
to try for each. 2: the command or the configuration is wrong.`,
		Example: "  fairlead doctor --config studio.yaml\n  fairlead doctor --place bay --config bay.yaml --json",
	}
	c.Flags().Bool("json", false, "one JSON array")
	c.Flags().StringVar(&place, "place", "", "what this machine is: hub or bay (default: as the configuration says)")
	return frame.OfStudio(c, func(config *studio.Config, _ []string) error {
		here, err := config.PlaceNamed(place)
		if err != nil {
			return frame.Use(err)
		}
		findings := studio.Findings(config.Doctor(c.Context(), here))
		bad := slices.ContainsFunc(findings, func(f studio.Finding) bool { return f.State == studio.Bad })
		return frame.ExitIf(bad, frame.TellLine(c, findings, findings))
	})
}
