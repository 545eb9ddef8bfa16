package main

import (
	"fmt"
	"time"

	"github.com/spf13/cobra"

	"fairlead/ingest/log/alive"
	"fairlead/ingest/log/expose"
	"fairlead/processors/hub/watch"
)

func newWatchCommand() *cobra.Command {
	c := &cobra.Command{
		Use:   "watch",
		Short: "Watch the studio's processes and bays, and tell people when something is wrong",
		Long: `Asks every process of the hub whether it gets on, hears what the bays say, and names
what is wrong by its cause. People are told by mail and webhook, as notify: of the
configuration says, once when it begins and once when it is over. ` + "`fairlead up`" + ` runs it.

Opening hours (notify.hours) are when a silent bay is missed; in quiet hours
(notify.quiet) only what is critical is told, the rest when they end.`,
		Example: `  fairlead watch --config studio.yaml
  fairlead watch list
  fairlead watch test`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			ctx, p, err := startProcess(c, "watch")
			if err != nil {
				return err
			}
			go alive.Keep(ctx, p.log)
			r := expose.NewRegistry("watch", version())
			p.show(ctx, "watch", r)
			return p.config.Watch(ctx, r, p.log)
		},
	}
	withProcess(c)
	list := &cobra.Command{
		Use:     "list",
		Short:   "List what is wrong now, the worst first",
		Example: "  fairlead watch list --json",
		Args:    cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			config, err := loadConfig(c)
			if err != nil {
				return err
			}
			state, err := watch.Read(config.WatchFile())
			if err != nil {
				return err
			}
			if asJSON, _ := c.Flags().GetBool("json"); asJSON {
				return printJSONLine(c.OutOrStdout(), state.Lasting())
			}
			return state.Print(c.OutOrStdout(), time.Now())
		},
	}
	withConfig(list)
	list.Flags().Bool("json", false, "print a JSON array")
	test := &cobra.Command{
		Use:     "test",
		Short:   "Send a test message to everybody who would be told",
		Example: "  fairlead watch test",
		Args:    cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			config, err := loadConfig(c)
			if err != nil {
				return err
			}
			told, err := config.TestSenders(c.Context())
			for _, name := range told {
				fmt.Fprintf(c.OutOrStdout(), "%s: sent\n", name)
			}
			return err
		},
	}
	withConfig(test)
	c.AddCommand(list, test)
	return c
}
