package health

import (
	"regexp"
	"strings"

	"github.com/prometheus/client_golang/prometheus"
)

// Collector exposes what bays report: their own samples under a label for the
// bay, and how long ago each was heard. Nothing is held between scrapes but the
// latest heartbeat.
type Collector struct {
	bays  *Bays
	seen  *prometheus.Desc
	alarm *prometheus.Desc
}

// NewCollector makes the collector of bays.
func NewCollector(bays *Bays) *Collector {
	return &Collector{
		bays:  bays,
		seen:  prometheus.NewDesc("fairlead_bay_heard_seconds", "Time since the bay's last heartbeat.", []string{"studio", "bay"}, nil),
		alarm: prometheus.NewDesc("fairlead_bay_alarm", "1 for each thing that someone should look at.", []string{"bay", "what"}, nil),
	}
}

// Describe implements prometheus.Collector as an unchecked one: which samples
// bays report depends on the bays.
func (c *Collector) Describe(chan<- *prometheus.Desc) {}

var sample = regexp.MustCompile(`^([a-zA-Z_:][a-zA-Z0-9_:]*)(?:\{(.*)\})?$`)
var pair = regexp.MustCompile(`([a-zA-Z_][a-zA-Z0-9_]*)="((?:[^"\\]|\\.)*)"`)

// Collect implements prometheus.Collector.
func (c *Collector) Collect(out chan<- prometheus.Metric) {
	now := c.bays.now()
	for _, bay := range c.bays.All() {
		out <- prometheus.MustNewConstMetric(c.seen, prometheus.GaugeValue, now.Sub(bay.Seen).Seconds(), bay.Place.Studio, bay.Place.Bay)
		for key, value := range bay.Heartbeat.Counters {
			m := sample.FindStringSubmatch(key)
			if m == nil || !strings.HasPrefix(m[1], "fairlead_") {
				continue
			}
			if m[1] == "fairlead_build_info" {
				// The hub's own process exposes this name with a help of its own,
				// and a registry answers nothing at all when the two differ.
				m[1] = "fairlead_bay_build_info"
			}
			names, values := []string{"studio", "bay"}, []string{bay.Place.Studio, bay.Place.Bay}
			for _, p := range pair.FindAllStringSubmatch(m[2], -1) {
				names, values = append(names, p[1]), append(values, p[2])
			}
			kind := prometheus.GaugeValue
			if strings.HasSuffix(m[1], "_total") || strings.HasSuffix(m[1], "_count") || strings.HasSuffix(m[1], "_sum") {
				kind = prometheus.CounterValue
			}
			metric, err := prometheus.NewConstMetric(prometheus.NewDesc(m[1], "Reported by the bay's collector.", names, nil), kind, value, values...)
			if err == nil {
				out <- metric
			}
		}
	}
	seen := map[Alarm]bool{}
	for _, a := range c.bays.Alarms() {
		a.Text = ""
		if !seen[a] {
			seen[a] = true
			out <- prometheus.MustNewConstMetric(c.alarm, prometheus.GaugeValue, 1, a.Bay, a.What)
		}
	}
}
