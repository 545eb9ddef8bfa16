package main

import (
	"context"
	"fmt"
	"io"
	"time"

	"github.com/spf13/cobra"

	"fairlead/cmd/frame"
	"fairlead/deploy/studio"
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
	}
	list := &cobra.Command{
		Use:     "list",
		Short:   "List what is wrong now, the worst first",
		Example: "  fairlead watch list --json",
	}
	list.Flags().Bool("json", false, "print a JSON array")
	frame.OfStudio(list, func(config *studio.Config, _ []string) error {
		state, err := watch.Read(config.WatchFile())
		if err != nil {
			return err
		}
		return frame.TellLine(list, state.Lasting(), frame.Words(func(w io.Writer) error { return state.Print(w, time.Now()) }))
	})
	test := &cobra.Command{
		Use:     "test",
		Short:   "Send a test message to everybody who would be told",
		Example: "  fairlead watch test",
	}
	frame.OfStudio(test, func(config *studio.Config, _ []string) error {
		told, err := config.TestSenders(test.Context())
		for _, name := range told {
			fmt.Fprintf(test.OutOrStdout(), "%s: sent\n", name)
		}
		return err
	})
	c.AddCommand(list, test)
	return frame.AsProcess(c, func(ctx context.Context, p *frame.Running) error {
		return p.Config.Watch(ctx, p.Beat(ctx), p.Log)
	})
}
