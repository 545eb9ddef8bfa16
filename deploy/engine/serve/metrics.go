package serve

import (
	"strconv"
	"strings"

	"github.com/prometheus/client_golang/prometheus"
)

type metrics struct {
	requests *prometheus.CounterVec
	duration *prometheus.HistogramVec
	running  prometheus.Gauge
	killed   prometheus.Counter
	rows     prometheus.Counter
	received prometheus.Counter
	sent     prometheus.Counter
}

func newMetrics(reg prometheus.Registerer, pool *Pool, version string) *metrics {
	const ns, sub = "fairlead", "engine"
	counter := func(name, help string) prometheus.Counter {
		return prometheus.NewCounter(prometheus.CounterOpts{Namespace: ns, Subsystem: sub, Name: name, Help: help})
	}
	m := &metrics{
		requests: prometheus.NewCounterVec(prometheus.CounterOpts{Namespace: ns, Subsystem: sub, Name: "requests_total",
			Help: "Statements answered, by kind (select, insert, hello, other) and outcome (ok, failed, rejected, abandoned)."},
			[]string{"kind", "outcome"}),
		duration: prometheus.NewHistogramVec(prometheus.HistogramOpts{Namespace: ns, Subsystem: sub, Name: "request_duration_seconds",
			Help:    "Time from the head of a request to the end of its answer.",
			Buckets: prometheus.ExponentialBuckets(0.001, 4, 8)}, []string{"kind"}),
		running: prometheus.NewGauge(prometheus.GaugeOpts{Namespace: ns, Subsystem: sub, Name: "requests_running",
			Help: "Requests being answered or read."}),
		killed:   counter("killed_total", "Statements killed because their client went away."),
		rows:     counter("written_rows_total", "Rows written by inserts, those of views included."),
		received: counter("received_bytes_total", "Bytes of rows inserted, unpacked."),
		sent:     counter("sent_bytes_total", "Bytes of results sent, before packing."),
	}
	info := prometheus.NewGauge(prometheus.GaugeOpts{Namespace: ns, Subsystem: sub, Name: "info",
		Help: "1; the version is the label.", ConstLabels: prometheus.Labels{"version": version}})
	info.Set(1)
	reg.MustRegister(m.requests, m.duration, m.running, m.killed, m.rows, m.received, m.sent, info, &inside{pool: pool})
	return m
}

// inside asks the engine about itself at each scrape.
type inside struct{ pool *Pool }

var (
	memoryDesc = prometheus.NewDesc("fairlead_engine_memory_bytes", "Memory that the engine accounts for.", nil, nil)
	partsDesc  = prometheus.NewDesc("fairlead_engine_parts", "Active parts of all tables; many mean that merges lag.", nil, nil)
	diskDesc   = prometheus.NewDesc("fairlead_engine_disk_free_bytes", "Free bytes on the disk of the data folder.", nil, nil)
)

func (*inside) Describe(ch chan<- *prometheus.Desc) {
	ch <- memoryDesc
	ch <- partsDesc
	ch <- diskDesc
}

func (i *inside) Collect(ch chan<- prometheus.Metric) {
	out, err := i.pool.ask("SELECT (SELECT sum(value) FROM system.metrics WHERE metric = 'MemoryTracking'), " +
		"(SELECT count() FROM system.parts WHERE active), (SELECT min(unreserved_space) FROM system.disks)")
	fields := strings.Split(out, "\t")
	for n, d := range []*prometheus.Desc{memoryDesc, partsDesc, diskDesc} {
		if err == nil && n < len(fields) {
			if v, perr := strconv.ParseFloat(fields[n], 64); perr == nil {
				ch <- prometheus.MustNewConstMetric(d, prometheus.GaugeValue, v)
				continue
			}
		}
		if err != nil {
			ch <- prometheus.NewInvalidMetric(d, err)
		}
	}
}
