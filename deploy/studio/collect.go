package studio

import (
	"log/slog"
	"time"

	"github.com/prometheus/client_golang/prometheus"

	"fairlead/ingest/bay/collector"
	"fairlead/ingest/bay/desk"
	"fairlead/ingest/log/stream"
)

// Collector says how a bay is collected for; Live changes its feeds while it is.
func (c *Config) Collector(b *Bay, version string, r *prometheus.Registry, log *slog.Logger) (collector.Options, *Live, error) {
	minFree, err := c.MinFreeBytes()
	if err != nil {
		return collector.Options{}, nil, err
	}
	bench, live := c.Bench(b, log.With("bay", b.Name)), &Live{begun: make(chan struct{})}
	open := func(runs collector.Following) desk.Bench {
		d := bench(runs)
		live.bench, _ = d.(*feedBench)
		close(live.begun)
		return d
	}
	place := c.Place(b.Name)
	quota, err := c.Broker.Quota.limits()
	if err != nil {
		return collector.Options{}, nil, err
	}
	return collector.Options{
		Place: place, JournalDir: c.JournalDir(b.Name), Feeds: c.Feeds(b, log.With("bay", b.Name)),
		Link: c.Link(stream.BayCredential(b.Name), place), Retention: time.Duration(c.Journal.Retention),
		MinFree: minFree, Quota: quota, Version: version, Logger: log, Registry: r, Bench: open,
	}, live, nil
}
