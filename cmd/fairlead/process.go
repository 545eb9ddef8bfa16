package main

import (
	"context"

	"github.com/spf13/cobra"

	"fairlead/cmd/frame"
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
	return frame.AsProcess(c, func(ctx context.Context, p *frame.Running) error {
		r := expose.NewRegistry("process", frame.Version())
		pulse := sink.NewPulse()
		p.Show(ctx, "process", r, alive.Check{Name: "bays", Do: pulse.Stuck})
		go alive.Keep(ctx, p.Log, alive.Check{Name: "bays", Do: pulse.Hung})
		s, err := p.Config.AwaitStore(ctx, p.Log)
		if err != nil {
			return err
		}
		defer s.Close()
		link := p.Config.Link(studio.ProcessKey, stream.Place{})
		link.Logger = p.Log
		nc, js, err := stream.Connect(link)
		if err != nil {
			return err
		}
		defer nc.Close()
		sink.CollectAt(sink.Roomy)
		go forgetter(p.Config, s, frame.HandOf(p.Config, "", "")).Watch(ctx, p.Log)
		return process.Run(ctx, process.Options{
			Conn: nc, JS: js, Layout: p.Config.Layout(), Store: s, Bays: p.Config.Places(), Pulse: pulse, Logger: p.Log, Registry: r,
			Home: p.Config.Studio, Studios: p.Config.Studios, Sign: p.Config.Signer(),
			Clock: p.Config.HubClock(p.Log),
		})
	})
}
