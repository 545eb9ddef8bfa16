package studio

import (
	"fmt"

	"github.com/dustin/go-humanize"
	"github.com/prometheus/client_golang/prometheus"

	"fairlead/ingest/log/stream"
)

// Quota is what one bay may say in the long run; two minutes' worth may come at
// once. The hub's broker cuts off who says more, and a bay's collector, which reads
// the same words in its own file, keeps below it.
type Quota struct {
	Messages int64  `yaml:"messages"` // a second; default 5000
	Bytes    string `yaml:"bytes"`    // a second; default 4MiB
}

// DefaultQuota is stream.DefaultQuota as a configuration says it.
func DefaultQuota() Quota {
	q := stream.DefaultQuota()
	return Quota{q.Messages, fmt.Sprintf("%dMiB", q.Bytes>>20)}
}

func (q Quota) limits() (stream.Quota, error) {
	out := stream.DefaultQuota()
	n, err := humanize.ParseBytes(q.Bytes)
	if err != nil || n < 64<<10 || n > 1<<40 {
		return out, fmt.Errorf("broker.quota.bytes: %q: write a size of at least 64KiB a second, such as 4MiB", q.Bytes)
	}
	if q.Messages < 10 || q.Messages > 1e9 {
		return out, fmt.Errorf("broker.quota.messages: %d: let a bay say at least 10 messages a second", q.Messages)
	}
	out.Messages, out.Bytes = q.Messages, int64(n)
	return out, nil
}

// visitsBytes reads the bound of the log of what fitters enter.
func visitsBytes(text string) (int64, error) {
	n, err := humanize.ParseBytes(text)
	if err != nil || n < 64<<20 || n > 1<<40 {
		return 0, fmt.Errorf("broker.visits: %q: write a size from 64MiB to 1TiB, such as 16GiB", text)
	}
	return int64(n), nil
}

// floods shows how often each bay of the configuration said too much.
type floods struct {
	bays []stream.Place
	list func() []stream.Flood
}

var flooded = prometheus.NewDesc("fairlead_broker_bay_floods",
	"How often a bay said more than its quota and was cut off, within an hour.", []string{"studio", "bay"}, nil)

// Describe implements prometheus.Collector.
func (f floods) Describe(to chan<- *prometheus.Desc) { to <- flooded }

// Collect implements prometheus.Collector.
func (f floods) Collect(to chan<- prometheus.Metric) {
	times := map[stream.Place]int{}
	for _, p := range f.bays {
		times[p] = 0
	}
	for _, one := range f.list() {
		times[one.Place] = one.Times
	}
	for p, n := range times {
		to <- prometheus.MustNewConstMetric(flooded, prometheus.GaugeValue, float64(n), p.Studio, p.Bay)
	}
}
