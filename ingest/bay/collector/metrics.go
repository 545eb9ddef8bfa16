package collector

import (
	"github.com/prometheus/client_golang/prometheus"
)

// metrics of one bay's collector.
type metrics struct {
	lines         *prometheus.CounterVec // feed
	journalled    *prometheus.CounterVec // feed, kind
	rejected      *prometheus.CounterVec // feed, reason
	feedUp        *prometheus.GaugeVec   // feed
	times         *prometheus.CounterVec // known
	clockSteps    prometheus.Gauge
	published     prometheus.Counter
	publishErrors prometheus.Counter
	repaired      prometheus.Counter
	append        prometheus.Histogram
	full          prometheus.Gauge
	unsent        prometheus.Gauge
	oldestUnsent  prometheus.Gauge
	freeBytes     prometheus.Gauge
	clockOffset   prometheus.Gauge
	clockRTT      prometheus.Gauge
	connected     prometheus.Gauge
	depth         prometheus.Gauge
	quarantined   prometheus.Gauge
}

func newMetrics(r prometheus.Registerer) (*metrics, error) {
	const space, sub = "fairlead", "collect"
	counter := func(name, help string) prometheus.Counter {
		return prometheus.NewCounter(prometheus.CounterOpts{Namespace: space, Subsystem: sub, Name: name, Help: help})
	}
	counters := func(name, help string, labels ...string) *prometheus.CounterVec {
		return prometheus.NewCounterVec(prometheus.CounterOpts{Namespace: space, Subsystem: sub, Name: name, Help: help}, labels)
	}
	gauge := func(name, help string) prometheus.Gauge {
		return prometheus.NewGauge(prometheus.GaugeOpts{Namespace: space, Subsystem: sub, Name: name, Help: help})
	}
	m := &metrics{
		lines:      counters("lines_total", "Lines read from devices.", "feed"),
		journalled: counters("entries_journalled_total", "Entries made durable in the journal, by kind: shot or rejected.", "feed", "kind"),
		rejected:   counters("entries_rejected_total", "Lines that were no valid shot, by the field that was refused first.", "feed", "field"),
		feedUp: prometheus.NewGaugeVec(prometheus.GaugeOpts{Namespace: space, Subsystem: sub, Name: "feed_up",
			Help: "1 while the feed reads or waits for its device, 0 while something stops it."}, []string{"feed"}),
		times: counters("entry_times_total",
			"Entries by how their time is known: live, device (its clock), between (an interval), unmet (before the first contact with the hub).",
			"known"),
		clockSteps:    gauge("wall_clock_steps", "Steps of the bay's wall clock since the collector began. Shots do not go by it."),
		published:     counter("entries_published_total", "Entries acknowledged by the log."),
		publishErrors: counter("publish_errors_total", "Publishes that failed and are tried again."),
		repaired:      counter("entries_repaired_total", "Entries published again because the store missed them."),
		append: prometheus.NewHistogram(prometheus.HistogramOpts{Namespace: space, Subsystem: sub, Name: "journal_append_seconds",
			Help: "Time until an append was durable.", Buckets: prometheus.ExponentialBuckets(0.0001, 2, 16)}),
		full:         gauge("journal_full", "1 while nothing is taken from devices because the disk is full."),
		unsent:       gauge("journal_unsent_entries", "Entries not yet acknowledged by the log."),
		oldestUnsent: gauge("journal_oldest_unsent_seconds", "Age of the oldest of them."),
		freeBytes:    gauge("journal_free_bytes", "Free bytes on the journal's file system."),
		clockOffset:  gauge("clock_offset_seconds", "Hub clock less the bay's wall clock."),
		clockRTT:     gauge("clock_round_trip_seconds", "Round trip of the clock exchange in force; 0 before the first."),
		connected:    gauge("broker_connected", "1 while connected to the log."),
		depth:        gauge("journal_entries", "Entries in the journals on this disk."),
		quarantined:  gauge("journal_quarantined_entries", "Entries lost to damaged stretches of the journals."),
	}
	for _, c := range []prometheus.Collector{m.times, m.clockSteps, m.lines, m.journalled, m.rejected, m.feedUp, m.published, m.publishErrors,
		m.repaired,
		m.append, m.full, m.unsent, m.oldestUnsent, m.freeBytes, m.clockOffset, m.clockRTT, m.connected, m.depth, m.quarantined} {
		if err := r.Register(c); err != nil {
			return nil, err
		}
	}
	return m, nil
}
