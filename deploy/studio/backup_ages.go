package studio

import (
	"time"

	"github.com/prometheus/client_golang/prometheus"

	"fairlead/deploy/backup"
)

// ages exposes how old the newest backup and the latest try are. The watch shows
// it, so that it is there when the process that takes backups is not.
type ages struct{ c *Config }

var (
	descTaken = prometheus.NewDesc("fairlead_backup_age_seconds",
		"Age of the newest backup; while there is none, since when one is asked for.", nil, nil)
	descTried = prometheus.NewDesc("fairlead_backup_tried_age_seconds",
		"Time since a backup was last restored for a try and was whole; before that, since when backups are asked for.", nil, nil)
	descEvery = prometheus.NewDesc("fairlead_backup_every_seconds", "How often a backup is asked for.", nil, nil)
	descTry   = prometheus.NewDesc("fairlead_backup_try_every_seconds", "How often a try is asked for; 0: never.", nil, nil)
	descBytes = prometheus.NewDesc("fairlead_backup_bytes", "Size of the files in the newest backup.", nil, nil)
	descNew   = prometheus.NewDesc("fairlead_backup_sent_bytes", "What the newest backup sent, encrypted.", nil, nil)
	descBad   = prometheus.NewDesc("fairlead_backup_failing", "1 while the latest attempt to take or try a backup failed.", nil, nil)
)

// Describe implements prometheus.Collector.
func (a *ages) Describe(out chan<- *prometheus.Desc) {
	for _, d := range []*prometheus.Desc{descTaken, descTried, descEvery, descTry, descBytes, descNew, descBad} {
		out <- d
	}
}

// Collect implements prometheus.Collector.
func (a *ages) Collect(out chan<- prometheus.Metric) {
	s, _ := backup.ReadState(a.c.BackupStateFile())
	now := time.Now()
	since := func(t time.Time) float64 {
		if t.IsZero() {
			t = s.Began
		}
		if t.IsZero() {
			return 0
		}
		return now.Sub(t).Seconds()
	}
	failing := 0.0
	if !s.Failed.IsZero() {
		failing = 1
	}
	for _, g := range []struct {
		desc  *prometheus.Desc
		value float64
	}{
		{descTaken, since(s.Taken)}, {descTried, since(s.Tried)}, {descBytes, float64(s.Bytes)}, {descNew, float64(s.New)}, {descBad, failing},
		{descEvery, time.Duration(a.c.Backup.Every).Seconds()}, {descTry, time.Duration(a.c.Backup.Try).Seconds()},
	} {
		out <- prometheus.MustNewConstMetric(g.desc, prometheus.GaugeValue, g.value)
	}
}
