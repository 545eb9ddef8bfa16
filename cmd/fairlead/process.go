package main

import (
	"context"

	"github.com/spf13/cobra"

	"fairlead/deploy/studio"
	"fairlead/ingest/log/alive"
	"fairlead/ingest/log/expose"
	"fairlead/ingest/log/stream"
	"fairlead/processors/hub/process"
	"fairlead/processors/hub/sink"
)

func newProcessCommand() *cobra.Command {
	c := &cobra.Command{
		Use:   "process",
		Short: "Tag and store what the bays send, watch for gaps, keep the health of bays",
		Long: `Takes entries and visit events from the log, says of every entry which build hit
it, computes the trials and stores all of it. Several may run: each bay is served
by the one that holds its lease.`,
		Example: "  fairlead process --config studio.yaml",
	}
	return asProcess(c, func(ctx context.Context, p *running) error {
		r := expose.NewRegistry("process", version())
		pulse := sink.NewPulse()
		p.show(ctx, "process", r, alive.Check{Name: "bays", Do: pulse.Stuck})
		go alive.Keep(ctx, p.log, alive.Check{Name: "bays", Do: pulse.Hung})
		s, err := p.config.AwaitStore(ctx, p.log)
		if err != nil {
			return err
		}
		defer s.Close()
		link := p.config.Link(studio.ProcessKey, stream.Place{})
		link.Logger = p.log
		nc, js, err := stream.Connect(link)
		if err != nil {
			return err
		}
		defer nc.Close()
		sink.CollectAt(sink.Roomy)
		go eraseDue(ctx, p, s)
		return process.Run(ctx, process.Options{
			Conn: nc, JS: js, Layout: p.config.Layout(), Store: s, Bays: p.config.Places(), Pulse: pulse, Logger: p.log, Registry: r,
			Clock: p.config.HubClock(p.log),
		})
	})
}
