package sink

import (
	"log/slog"
	"time"

	"github.com/prometheus/client_golang/prometheus"

	"fairlead/processors/hub/store"
)

// Metrics of the tagging and storing process.
type Metrics struct {
	consumed      prometheus.Counter
	tagged        prometheus.Counter
	events        prometheus.Counter
	poison        *prometheus.CounterVec // reason
	stored        *prometheus.CounterVec // table
	storeErrors   prometheus.Counter
	batch         prometheus.Histogram
	insertSeconds prometheus.Histogram
	flushSeconds  prometheus.Histogram
	refused       *prometheus.CounterVec // table
	tagSeconds    prometheus.Histogram
	latency       prometheus.Histogram
	lag           *prometheus.GaugeVec // bay
	queued        *prometheus.GaugeVec // bay
	owned         prometheus.Gauge
	returned      *prometheus.CounterVec // bay
	revisions     prometheus.Counter
	residual      *prometheus.GaugeVec // bay, device, category, field
	drifting      *prometheus.GaugeVec
	claims        *prometheus.GaugeVec // bay
	between       *prometheus.GaugeVec // bay
	unknown       prometheus.Gauge
	said          *said
}

// NewMetrics registers the metrics.
func NewMetrics(r prometheus.Registerer) (*Metrics, error) {
	const space, sub = "fairlead", "process"
	counter := func(name, help string) prometheus.Counter {
		return prometheus.NewCounter(prometheus.CounterOpts{Namespace: space, Subsystem: sub, Name: name, Help: help})
	}
	histogram := func(name, help string, buckets []float64) prometheus.Histogram {
		return prometheus.NewHistogram(prometheus.HistogramOpts{Namespace: space, Subsystem: sub, Name: name, Help: help, Buckets: buckets})
	}
	seconds := prometheus.ExponentialBuckets(0.0005, 2, 16)
	m := &Metrics{
		consumed: counter("entries_consumed_total", "Entries taken from the log, repeats included."),
		tagged:   counter("entries_tagged_total", "Entries tagged, repeats included."),
		events:   counter("visit_events_total", "Visit events applied."),
		poison: prometheus.NewCounterVec(prometheus.CounterOpts{Namespace: space, Subsystem: sub, Name: "messages_set_aside_total",
			Help: "Messages of the log that are nothing of their bay's, and entries rejected here because they can't be right."},
			[]string{"reason"}),
		stored: prometheus.NewCounterVec(prometheus.CounterOpts{Namespace: space, Subsystem: sub, Name: "rows_stored_total",
			Help: "Rows acknowledged by the store, revisions included."}, []string{"table"}),
		storeErrors:   counter("store_errors_total", "Inserts that failed and are tried again."),
		batch:         histogram("batch_rows", "Rows of one insert.", prometheus.ExponentialBuckets(1, 4, 8)),
		insertSeconds: histogram("insert_seconds", "Time of one insert.", seconds),
		flushSeconds:  histogram("flush_seconds", "Time to write what the bays had waiting, all tables.", seconds),
		refused: prometheus.NewCounterVec(prometheus.CounterOpts{Namespace: space, Subsystem: sub, Name: "rows_set_aside_total",
			Help: "Rows that the store refused, or could not be read in it; the table set_aside says which and why."}, []string{"table"}),
		tagSeconds: histogram("tag_seconds", "Time to tag one batch.", seconds),
		latency:    histogram("end_to_end_seconds", "From a line's receipt in the bay to its row in the store.", seconds),
		lag: prometheus.NewGaugeVec(prometheus.GaugeOpts{Namespace: space, Subsystem: sub, Name: "consume_lag_entries",
			Help: "Entries in the log that were not taken yet."}, []string{"bay"}),
		queued: prometheus.NewGaugeVec(prometheus.GaugeOpts{Namespace: space, Subsystem: sub, Name: "queued_rows",
			Help: "Rows that wait for the store."}, []string{"bay"}),
		owned: prometheus.NewGauge(prometheus.GaugeOpts{Namespace: space, Subsystem: sub, Name: "bays_owned",
			Help: "Bays tagged by this process."}),
		returned: prometheus.NewCounterVec(prometheus.CounterOpts{Namespace: space, Subsystem: sub, Name: "bay_returns_total",
			Help: "Times that a bay came back to this process, which had lost it or given it to another."}, []string{"bay"}),
		revisions: counter("tag_revisions_total", "Tags written again because something became known later."),
	}
	of := []string{"bay", "device", "category", "field"}
	gauges := func(name, help string, labels ...string) *prometheus.GaugeVec {
		return prometheus.NewGaugeVec(prometheus.GaugeOpts{Namespace: space, Subsystem: sub, Name: name, Help: help}, labels)
	}
	m.residual = gauges("sensor_residual", "Moving average of measured against modelled flight: percent for carry and apex, degrees for "+
		"landing_angle.", of...)
	m.unknown = prometheus.NewGauge(prometheus.GaugeOpts{Namespace: space, Subsystem: sub, Name: "unknown_bays",
		Help: "Bays that the log holds entries of and the configuration does not name: nobody tags them."})
	m.said = newSaid()
	m.drifting = gauges("sensor_drifting", "1 while that average has left its limits, or was off from the start.", of...)
	m.between = gauges("between_builds", "Shots whose time is not known well enough to say which build they were hit with, among the "+
		"entries in memory: the fitter has to say.", "bay")
	m.claims = gauges("claimed_numbers", "Journal numbers that two shots claim, among the entries in memory.", "bay")
	for _, c := range []prometheus.Collector{m.unknown, m.residual, m.drifting, m.claims, m.between, m.consumed, m.tagged, m.events, m.poison,
		m.stored, m.storeErrors, m.batch, m.insertSeconds, m.flushSeconds, m.refused,
		m.tagSeconds, m.latency, m.lag, m.queued, m.owned, m.returned, m.revisions} {
		if err := r.Register(c); err != nil {
			return nil, err
		}
	}
	return m, nil
}

// setAside counts and reports a message that is nothing of its bay's. A bay can
// send any number of them: each reason is said once in a while, with how many
// more there were.
func (m *Metrics) setAside(log *slog.Logger, why, subject string) {
	m.poison.WithLabelValues(why).Inc()
	if n, ok := m.said.again(why+" "+subject, time.Now()); ok {
		log.Error("a message of the log is set aside", "reason", why, "subject", subject, "more", n)
	}
}

// setAsideRow counts and reports a row that the store refused or can't read.
func (m *Metrics) setAsideRow(log *slog.Logger, a store.Aside) {
	m.refused.WithLabelValues(a.Of).Inc()
	if n, ok := m.said.again("row "+a.Of+a.Place.Bay+a.Reason, time.Now()); ok {
		log.Error("a row is set aside", "bay", a.Place.Bay, "table", a.Of, "key", a.Key, "reason", a.Reason, "more", n)
	}
}

// forget removes what is said of a bay that this process no longer serves.
func (m *Metrics) forget(bay string) {
	m.lag.DeleteLabelValues(bay)
	m.queued.DeleteLabelValues(bay)
	m.claims.DeleteLabelValues(bay)
	m.between.DeleteLabelValues(bay)
	m.residual.DeletePartialMatch(prometheus.Labels{"bay": bay})
	m.drifting.DeletePartialMatch(prometheus.Labels{"bay": bay})
}
