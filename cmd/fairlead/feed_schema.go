package main

import (
	"encoding/json"
	"io"

	"github.com/spf13/cobra"

	"fairlead/ingest/bay/feed"
)

func newFeedSchemaCommand() *cobra.Command {
	return &cobra.Command{
		Use:     "schema",
		Short:   "Write the JSON schema of field maps, for editors",
		Example: "  fairlead feed schema > field-map.schema.json",
		RunE: func(c *cobra.Command, _ []string) error {
			e := json.NewEncoder(c.OutOrStdout())
			e.SetIndent("", " ")
			return e.Encode(feed.Schema())
		},
	}
}

func newFeedReferenceCommand() *cobra.Command {
	return &cobra.Command{
		Use:     "reference",
		Short:   "Write the page on field maps: every key, field and unit, and recipes",
		Example: "  fairlead feed reference",
		RunE: func(c *cobra.Command, _ []string) error {
			_, err := io.WriteString(c.OutOrStdout(), feed.Reference())
			return err
		},
	}
}
