package health

import (
	"time"

	"github.com/prometheus/client_golang/prometheus"
)

// Collector exposes what bays report: their own samples under a label for the
// bay, and how long ago each was heard. Nothing is held between scrapes but the
// latest heartbeat.
type Collector struct {
	bays    *Bays
	seen    *prometheus.Desc
	alarm   *prometheus.Desc
	refused *prometheus.Desc
	unknown *prometheus.Desc
}

// NewCollector makes the collector of bays.
func NewCollector(bays *Bays) *Collector {
	return &Collector{
		bays: bays,
		seen: prometheus.NewDesc("fairlead_bay_heard_seconds", "Time since the bay's last heartbeat.", []string{"studio", "bay"}, nil),
		refused: prometheus.NewDesc("fairlead_bay_samples_refused", "Samples of the bay's last heartbeat that are not shown: "+
			"not its own names, said twice, or too many.", []string{"studio", "bay"}, nil),
		unknown: prometheus.NewDesc("fairlead_bay_heartbeats_refused_total",
			"Heartbeats that can't be read, follow too closely, or are of no bay of the configuration.", nil, nil),
		alarm: prometheus.NewDesc("fairlead_bay_alarm", "1 for each thing that someone should look at.", []string{"bay", "what"}, nil),
	}
}

const reportedHelp = "Reported by the bay's collector."

// Describe implements prometheus.Collector as an unchecked one: which samples
// bays report depends on the bays.
func (c *Collector) Describe(chan<- *prometheus.Desc) {}

// Collect implements prometheus.Collector.
func (c *Collector) Collect(out chan<- prometheus.Metric) {
	now := c.bays.now()
	for _, bay := range c.bays.All() {
		out <- prometheus.MustNewConstMetric(c.seen, prometheus.GaugeValue, now.Sub(bay.Seen).Seconds(), bay.Place.Studio, bay.Place.Bay)
		list, refused := samples(bay.Place, bay.Heartbeat.Counters)
		plain, distributions, odd := gather(list)
		refused += odd
		for _, d := range distributions {
			metric, err := d.metric()
			if err != nil {
				refused++
				continue
			}
			out <- metric
		}
		for _, r := range plain {
			metric, err := prometheus.NewConstMetric(prometheus.NewDesc(r.name, reportedHelp, r.names, nil), r.kind, r.value, r.values...)
			if err != nil {
				refused++
				continue
			}
			out <- metric
		}
		out <- prometheus.MustNewConstMetric(c.refused, prometheus.GaugeValue, float64(refused), bay.Place.Studio, bay.Place.Bay)
	}
	out <- prometheus.MustNewConstMetric(c.unknown, prometheus.CounterValue, float64(c.bays.strangers.Load()))
	seen := map[Alarm]bool{}
	for _, a := range c.bays.Alarms() {
		a.Text, a.Heard = "", time.Time{}
		if !seen[a] {
			seen[a] = true
			out <- prometheus.MustNewConstMetric(c.alarm, prometheus.GaugeValue, 1, a.Bay, a.What)
		}
	}
}
