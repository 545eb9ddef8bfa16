package console

import (
	"errors"

	"github.com/prometheus/client_golang/prometheus"
)

// metrics of the console; labels are bounded by the contract's kinds of events
// and the configuration's bays.
type metrics struct {
	written      *prometheus.CounterVec // by kind
	refused      *prometheus.CounterVec // by reason: faults, unknown_bay, full, failed
	writeSeconds prometheus.Histogram
	published    prometheus.Counter
	publishErrs  prometheus.Counter
	repaired     prometheus.Counter
	unsent       prometheus.Gauge
	oldestUnsent prometheus.Gauge
	freeBytes    prometheus.Gauge
	watching     prometheus.Gauge
	rendered     prometheus.Histogram
	stateAge     prometheus.Histogram
}

func newMetrics(r prometheus.Registerer) (*metrics, error) {
	counter := func(name, help string) prometheus.Counter {
		return prometheus.NewCounter(prometheus.CounterOpts{Namespace: "fairlead", Subsystem: "console", Name: name, Help: help})
	}
	gauge := func(name, help string) prometheus.Gauge {
		return prometheus.NewGauge(prometheus.GaugeOpts{Namespace: "fairlead", Subsystem: "console", Name: name, Help: help})
	}
	seconds := func(name, help string) prometheus.Histogram {
		return prometheus.NewHistogram(prometheus.HistogramOpts{Namespace: "fairlead", Subsystem: "console", Name: name, Help: help,
			Buckets: []float64{.0005, .001, .002, .005, .01, .02, .05, .1, .25, 1}})
	}
	m := &metrics{
		written: prometheus.NewCounterVec(prometheus.CounterOpts{Namespace: "fairlead", Subsystem: "console", Name: "events_written_total",
			Help: "Visit events made durable, by kind."}, []string{"kind"}),
		refused: prometheus.NewCounterVec(prometheus.CounterOpts{Namespace: "fairlead", Subsystem: "console", Name: "events_refused_total",
			Help: "Visit events not taken, by reason."}, []string{"reason"}),
		writeSeconds: seconds("event_write_seconds", "Time from an event's arrival until it is durable."),
		published:    counter("events_published_total", "Visit events acknowledged by the log."),
		publishErrs:  counter("publish_errors_total", "Publishes that failed and are tried again."),
		repaired:     counter("events_repaired_total", "Visit events published again for a repair."),
		unsent:       gauge("events_unsent", "Visit events that the log has not acknowledged."),
		oldestUnsent: gauge("oldest_unsent_seconds", "Age of the oldest of them."),
		freeBytes:    gauge("journal_free_bytes", "Room left for the console's journal."),
		watching:     gauge("pages_watching", "Open connections that get live states."),
		rendered:     seconds("render_seconds", "Time to render a bay's page for one state."),
		stateAge:     seconds("state_delay_seconds", "Time from the hub's state to its page being sent."),
	}
	var problems []error
	for _, c := range []prometheus.Collector{m.written, m.refused, m.writeSeconds, m.published, m.publishErrs, m.repaired, m.unsent,
		m.oldestUnsent,
		m.freeBytes, m.watching, m.rendered, m.stateAge} {
		problems = append(problems, r.Register(c))
	}
	return m, errors.Join(problems...)
}
