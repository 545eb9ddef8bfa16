package main

import (
	"encoding/json"

	"github.com/spf13/cobra"

	"fairlead/deploy/release"
)

// version is what the build says of itself in logs, heartbeats and metrics.
func version() string { return release.Of().Short() }

func newVersionCommand() *cobra.Command {
	var asJSON bool
	c := &cobra.Command{
		Use:     "version",
		Short:   "Print the version, the commit it was made of, and the formats it reads and writes",
		Example: "  fairlead version\n  fairlead version --json",
		Args:    cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			if asJSON {
				return json.NewEncoder(c.OutOrStdout()).Encode(release.Of())
			}
			return release.Of().Print(c.OutOrStdout())
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "print a JSON object")
	return c
}
