package main

import (
	"github.com/spf13/cobra"

	"fairlead/ingest/contract/event"
)

func newFeedFieldsCommand() *cobra.Command {
	var asJSON bool
	c := &cobra.Command{
		Use:     "fields",
		Short:   "List the fields that a field map may name",
		Example: "  fairlead feed fields",
		Args:    cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			if asJSON {
				return printJSONLine(c.OutOrStdout(), event.Fields())
			}
			return event.WriteFields(c.OutOrStdout())
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "one JSON array")
	return c
}

func newFeedUnitsCommand() *cobra.Command {
	var asJSON bool
	c := &cobra.Command{
		Use:     "units",
		Short:   "List the units that a field map may name, by quantity",
		Example: "  fairlead feed units",
		Args:    cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			if asJSON {
				return printJSONLine(c.OutOrStdout(), event.FieldUnits())
			}
			return event.FieldUnits().WriteText(c.OutOrStdout())
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "one JSON object")
	return c
}
