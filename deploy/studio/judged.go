package studio

import (
	"time"

	"github.com/prometheus/client_golang/prometheus"

	"fairlead/processors/hub/watch"
)

// judged exposes what of the configuration decides whether something is trouble,
// so that rules elsewhere judge as the watch does.
type judged struct{ c *Config }

var (
	descMissed = prometheus.NewDesc("fairlead_watch_bays_missed",
		"1 while a silent bay is trouble; 0 while the studio is closed (notify.hours) or has opened a quarter of an hour ago at most.", nil, nil)
	descWaits = prometheus.NewDesc("fairlead_watch_forward_waiting_seconds",
		"For how long something has waited to go to the head office, or the forwarding has said nothing.", nil, nil)
	descAlarm = prometheus.NewDesc("fairlead_watch_forward_alarm_after_seconds", "How long that may be (head_office.alarm_after).", nil, nil)
)

// Describe implements prometheus.Collector.
func (j *judged) Describe(out chan<- *prometheus.Desc) {
	for _, d := range []*prometheus.Desc{descMissed, descWaits, descAlarm} {
		out <- d
	}
}

// Collect implements prometheus.Collector.
func (j *judged) Collect(out chan<- prometheus.Metric) {
	now := time.Now()
	hours, _ := watch.ParseHours(j.c.Notify.Hours) // checked with the configuration
	missed := 0.0
	if hours.Missed(now) {
		missed = 1
	}
	out <- prometheus.MustNewConstMetric(descMissed, prometheus.GaugeValue, missed)
	if j.c.HeadOffice.URL == "" {
		return
	}
	if s, err := j.c.Forwarding(); err == nil {
		out <- prometheus.MustNewConstMetric(descWaits, prometheus.GaugeValue, forwardWaits(s, now).Seconds())
		out <- prometheus.MustNewConstMetric(descAlarm, prometheus.GaugeValue, time.Duration(j.c.HeadOffice.Alarm).Seconds())
	}
}
