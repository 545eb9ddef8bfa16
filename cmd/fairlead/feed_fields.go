package main

import (
	"encoding/json"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/unit"
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
				return json.NewEncoder(c.OutOrStdout()).Encode(event.Fields())
			}
			for _, f := range event.Fields() {
				side := ""
				if f.Mirrors {
					side = "  positive is right of target"
				}
				unitName := unit.Stored(f.Quantity)
				if _, err := fmt.Fprintf(c.OutOrStdout(), "%-18s %-12s %-5s %g to %g%s\n", f.Name, f.Quantity, unitName, f.Min, f.Max, side); err != nil {
					return err
				}
			}
			return nil
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
			all := map[unit.Quantity][]string{}
			var order []unit.Quantity
			for _, f := range event.Fields() {
				if _, ok := all[f.Quantity]; !ok {
					all[f.Quantity] = append(unit.Names(f.Quantity), unit.Spellings(f.Quantity)...)
					order = append(order, f.Quantity)
				}
			}
			if asJSON {
				return json.NewEncoder(c.OutOrStdout()).Encode(all)
			}
			for _, q := range order {
				var names []string
				for _, n := range all[q] {
					if n != "" {
						names = append(names, n)
					}
				}
				if _, err := fmt.Fprintf(c.OutOrStdout(), "%-12s %s\n", q, strings.Join(names, ", ")); err != nil {
					return err
				}
			}
			return nil
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "one JSON object")
	return c
}
