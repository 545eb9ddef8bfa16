package main

import (
	"errors"
	"os"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/spf13/cobra"

	"fairlead/deploy/studio"
	"fairlead/ingest/log/alive"
	"fairlead/ingest/log/expose"
	"fairlead/ingest/log/stream"
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
		Args:    cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			ctx, p, err := startProcess(c, "broker")
			if err != nil {
				return err
			}
			if p.config.Broker.URL != "" {
				return &usageError{errors.New("broker.url names a broker elsewhere: nothing to run here")}
			}
			if err := p.config.EnsureKeys(p.log); err != nil {
				return err
			}
			keyring, layout := p.config.Keyring(), p.config.Layout()
			b, err := stream.AwaitBroker(ctx, stream.BrokerOptions{
				Listen: p.config.Broker.Listen, DataDir: p.config.BrokerDir(), Keyring: &keyring, Layout: &layout, Logger: p.log,
			}, stream.Patience)
			if err != nil {
				return err
			}
			defer b.Stop()
			r := expose.NewRegistry("broker", version())
			connections := prometheus.NewGaugeFunc(prometheus.GaugeOpts{Namespace: "fairlead", Subsystem: "broker", Name: "connections",
				Help: "Clients connected now."}, func() float64 { return float64(b.Connections()) })
			free := prometheus.NewGaugeFunc(prometheus.GaugeOpts{Namespace: "fairlead", Subsystem: "broker", Name: "free_bytes",
				Help: "Free bytes on the broker's file system."}, func() float64 {
				n, _ := studio.FreeSpace(b.Dir())
				return float64(n)
			})
			r.MustRegister(connections, free)
			p.show(ctx, "broker", r, alive.Check{Name: "connections", Do: b.Answers})
			go alive.Keep(ctx, p.log, alive.Check{Name: "connections", Do: b.Answers})
			p.log.Info("broker ready", "url", b.URL(), "pid", os.Getpid())
			return b.Run(ctx)
		},
	}
	withProcess(c)
	return c
}
