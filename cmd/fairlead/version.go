package main

import (
	"github.com/spf13/cobra"

	"fairlead/deploy/release"
)

// version is what the build says of itself in logs, heartbeats and metrics.
func version() string { return release.Of().Short() }

func newVersionCommand() *cobra.Command {
	c := &cobra.Command{
		Use:     "version",
		Short:   "Print the version, the commit it was made of, and the formats it reads and writes",
		Example: "  fairlead version\n  fairlead version --json",
		RunE: func(c *cobra.Command, _ []string) error {
			return tellLine(c, release.Of(), words(release.Of().Print))
		},
	}
	c.Flags().Bool("json", false, "print a JSON object")
	return c
}
