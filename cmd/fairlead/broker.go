package main

import (
	"context"
	"errors"
	"os"

	"github.com/spf13/cobra"

	"fairlead/cmd/frame"
	"fairlead/ingest/log/alive"
	"fairlead/ingest/log/expose"
)

func newBrokerCommand() *cobra.Command {
	c := &cobra.Command{
		Use:   "broker",
		Short: "Run the embedded broker that carries shots and visit events",
		Long: `Runs the embedded NATS broker of the studio. It makes a key for each process of
the hub and for each bay of the configuration below DATA/keys: NAME.seed goes to
the machine that uses it, NAME.pub stays. Removing a NAME.pub cuts that key off
within a second. No key may empty or take away what the log keeps: the broker
makes its streams itself.`,
		Example: "  fairlead broker --config studio.yaml",
	}
	return frame.AsProcess(c, func(ctx context.Context, p *frame.Running) error {
		if p.Config.Broker.URL != "" {
			return frame.Use(errors.New("broker.url names a broker elsewhere: nothing to run here"))
		}
		r := expose.NewRegistry("broker", frame.Version())
		var connections alive.Part
		p.Show(ctx, "broker", r, alive.Check{Name: "connections", Do: connections.Answers})
		go alive.Keep(ctx, p.Log, alive.Check{Name: "connections", Do: connections.Turns})
		b, err := p.Config.StartBroker(ctx, r, p.Log)
		if err != nil {
			return err
		}
		defer b.Stop()
		connections.Is(b.Answers)
		p.Log.Info("broker ready", "url", b.URL(), "pid", os.Getpid())
		return b.Run(ctx)
	})
}
