package main

import (
	"github.com/spf13/cobra"

	"fairlead/cmd/frame"
	"fairlead/ingest/contract/event"
)

func newFeedFieldsCommand() *cobra.Command {
	c := &cobra.Command{
		Use:     "fields",
		Short:   "List the fields that a field map may name",
		Example: "  fairlead feed fields",
		RunE: func(c *cobra.Command, _ []string) error {
			return frame.TellLine(c, event.Fields(), frame.Words(event.WriteFields))
		},
	}
	c.Flags().Bool("json", false, "one JSON array")
	return c
}

func newFeedUnitsCommand() *cobra.Command {
	c := &cobra.Command{
		Use:     "units",
		Short:   "List the units that a field map may name, by quantity",
		Example: "  fairlead feed units",
		RunE: func(c *cobra.Command, _ []string) error {
			return frame.TellLine(c, event.FieldUnits(), event.FieldUnits())
		},
	}
	c.Flags().Bool("json", false, "one JSON object")
	return c
}
