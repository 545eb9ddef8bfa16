package studio

import (
	"log/slog"
	"time"

	"github.com/prometheus/client_golang/prometheus"

	"fairlead/ingest/bay/collector"
	"fairlead/ingest/log/stream"
)

// Collector says how a bay is collected for.
func (c *Config) Collector(b *Bay, version string, r *prometheus.Registry, log *slog.Logger) (collector.Options, error) {
	minFree, err := c.MinFreeBytes()
	if err != nil {
		return collector.Options{}, err
	}
	place := c.Place(b.Name)
	quota, err := c.Broker.Quota.limits()
	if err != nil {
		return collector.Options{}, err
	}
	return collector.Options{
		Place: place, JournalDir: c.JournalDir(b.Name), Feeds: c.Feeds(b, log.With("bay", b.Name)),
		Link: c.Link(stream.BayCredential(b.Name), place), Retention: time.Duration(c.Journal.Retention),
		MinFree: minFree, Quota: quota, Version: version, Logger: log, Registry: r, Bench: c.Bench(b, log.With("bay", b.Name)),
	}, nil
}
