package main

import (
	"github.com/spf13/cobra"

	"fairlead/cmd/frame"
	"fairlead/deploy/release"
)

func newVersionCommand() *cobra.Command {
	c := &cobra.Command{
		Use:     "version",
		Short:   "Print the version, the commit it was made of, and the formats it reads and writes",
		Example: "  fairlead version\n  fairlead version --json",
		RunE: func(c *cobra.Command, _ []string) error {
			return frame.TellLine(c, release.Of(), frame.Words(release.Of().Print))
		},
	}
	c.Flags().Bool("json", false, "print a JSON object")
	return c
}
