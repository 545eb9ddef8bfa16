package main

import (
	"github.com/spf13/cobra"

	"fairlead/cmd/frame"
	"fairlead/processors/hub/store"
)

func newSchemaCommand() *cobra.Command {
	var apply, plan bool
	var cluster string
	c := &cobra.Command{
		Use:   "schema",
		Short: "Print the store's schema, for one server or a cluster, say what would change, or apply it",
		Example: `  fairlead schema
  fairlead schema --cluster studio > schema.sql
  fairlead schema --plan --config studio.yaml
  fairlead schema --apply --config studio.yaml`,
	}
	c.RunE = func(c *cobra.Command, _ []string) error {
		if !apply && !plan {
			return store.WriteSchema(c.OutOrStdout(), cluster)
		}
		config, err := frame.LoadConfig(c)
		if err != nil {
			return err
		}
		if plan {
			return config.PlanSchema(c.Context(), c.OutOrStdout())
		}
		return config.ApplySchema(c.Context(), c.OutOrStdout())
	}
	frame.WithConfig(c)
	c.Flags().BoolVar(&apply, "apply", false, "bring the store of the configuration up to date instead of printing")
	c.Flags().BoolVar(&plan, "plan", false, "say what bringing that store up to date would do, and do nothing")
	c.Flags().StringVar(&cluster, "cluster", "", "print the form for this ClickHouse cluster, with replicated tables")
	return c
}
