package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"fairlead/dashboards/console/client"
)

func newVisitShow() *cobra.Command {
	return &cobra.Command{
		Use: "show", Short: "Show the state of a bay: session, trials, what differs, last shots",
		Example: "  fairlead visit show --bay north",
		RunE: withConsole(func(c *cobra.Command, _ []string, v *client.Client, asJSON bool) error {
			s, text, err := v.State(c.Context())
			if err != nil {
				return err
			}
			if asJSON {
				_, err := fmt.Fprintln(c.OutOrStdout(), strings.TrimSpace(string(text)))
				return err
			}
			return s.WriteText(c.OutOrStdout())
		}),
	}
}

func newVisitLog() *cobra.Command {
	return &cobra.Command{
		Use: "log", Short: "List the bay's events in order, with the ids that undo takes",
		Example: "  fairlead visit log --bay north",
		RunE: withConsole(func(c *cobra.Command, _ []string, v *client.Client, asJSON bool) error {
			events, text, err := v.Events(c.Context())
			if err != nil {
				return err
			}
			if asJSON {
				_, err := c.OutOrStdout().Write(text)
				return err
			}
			return client.WriteLog(c.OutOrStdout(), events)
		}),
	}
}
