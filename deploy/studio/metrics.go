package studio

import (
	"fmt"

	"fairlead/dashboards/gate"
	"fairlead/ingest/log/expose"
	"fairlead/ingest/log/stream"
)

// MetricsTokenFile holds what opens metrics and profiles beyond this machine.
func (c *Config) MetricsTokenFile() string {
	if c.Metrics.Token != "" {
		return c.Path(c.Metrics.Token)
	}
	return c.DataPath("keys", "metrics.token")
}

func (c *Config) metricsToken() (string, error) { return gate.ReadToken(c.MetricsTokenFile()) }

// Door is how a process's metrics and profiles are served at an address: beyond
// this machine by TLS, as the configuration says, and to who shows the token.
func (c *Config) Door(listen string) (expose.Door, error) {
	if stream.Loopback(listen) {
		return expose.Door{}, nil
	}
	if c.TLS.By == "" {
		return expose.Door{}, &ClearError{[]string{"the metrics' address " + listen}}
	}
	token, err := gate.EnsureToken(c.MetricsTokenFile())
	if err != nil {
		return expose.Door{}, fmt.Errorf("metrics: %w", err)
	}
	d := expose.Door{Token: token}
	if c.Guarded(listen) {
		l, err := c.Leaf()
		if err != nil {
			return expose.Door{}, err
		}
		d.TLS = l.Config()
	}
	return d, nil
}
