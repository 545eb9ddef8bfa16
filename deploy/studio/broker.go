package studio

import (
	"context"
	"log/slog"

	"github.com/prometheus/client_golang/prometheus"

	"fairlead/ingest/log/stream"
)

// StartBroker starts the embedded broker that the configuration describes, whose
// gauges go into r.
func (c *Config) StartBroker(ctx context.Context, r prometheus.Registerer, log *slog.Logger) (*stream.Broker, error) {
	if err := c.RefuseClear("broker.listen"); err != nil {
		return nil, err
	}
	if err := c.EnsureKeys(log); err != nil {
		return nil, err
	}
	shows, ends, err := c.brokerTLS()
	if err != nil {
		return nil, err
	}
	quota, err := c.Broker.Quota.limits()
	if err != nil {
		return nil, err
	}
	keyring, layout := c.Keyring(), c.Layout()
	b, err := stream.AwaitBroker(ctx, stream.BrokerOptions{
		Listen: c.Broker.Listen, DataDir: c.BrokerDir(), Keyring: &keyring, Layout: &layout, TLS: shows, Quota: quota, Logger: log,
	}, stream.Patience)
	if err != nil {
		return nil, err
	}
	connections := prometheus.NewGaugeFunc(prometheus.GaugeOpts{Namespace: "fairlead", Subsystem: "broker", Name: "connections",
		Help: "Clients connected now."}, func() float64 { return float64(b.Connections()) })
	free := prometheus.NewGaugeFunc(prometheus.GaugeOpts{Namespace: "fairlead", Subsystem: "broker", Name: "free_bytes",
		Help: "Free bytes on the broker's file system."}, func() float64 {
		n, _ := FreeSpace(b.Dir())
		return float64(n)
	})
	full := prometheus.NewGaugeFunc(prometheus.GaugeOpts{Namespace: "fairlead", Subsystem: "broker", Name: "visits_full_percent",
		Help: "How much of broker.visits the log of what fitters enter has taken, in hundredths; at 100 it takes no more."},
		func() float64 { return 100 * b.Full(stream.Visits) })
	r.MustRegister(connections, free, full, endsGauge("broker", ends), floods{c.Places(), b.Floods}, oldKeys{c.Credentials(), b.OldKeys})
	return b, nil
}
