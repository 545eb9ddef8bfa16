package health

import (
	"slices"
	"strconv"
	"strings"

	"github.com/prometheus/client_golang/prometheus"
)

// histograms are what bays and the console report as distributions. A name that
// one bay called a gauge and another a histogram would spoil the page for both,
// so what is one stands here.
var histograms = []string{
	"fairlead_collect_journal_append_seconds",
	"fairlead_console_event_write_seconds",
	"fairlead_console_render_seconds",
	"fairlead_console_state_delay_seconds",
}

// partOf splits a sample of a histogram from its name: sum, count or bucket.
func partOf(name string) (histogram, part string) {
	for _, part := range []string{"sum", "count", "bucket"} {
		if base, ok := strings.CutSuffix(name, "_"+part); ok && slices.Contains(histograms, base) {
			return base, part
		}
	}
	return "", ""
}

// distribution is a histogram put together from its samples.
type distribution struct {
	name          string
	names, values []string
	count         uint64
	sum           float64
	buckets       map[float64]uint64
}

// gather puts the samples of histograms together and returns the others as they are.
func gather(list []reported) (plain []reported, out []*distribution, refused int) {
	byKey := map[string]*distribution{}
	for _, r := range list {
		base, part := partOf(r.name)
		if base == "" {
			if slices.Contains(histograms, r.name) { // the name alone is none of its samples
				refused++
				continue
			}
			plain = append(plain, r)
			continue
		}
		names, values, bound := r.names, r.values, ""
		if i := slices.Index(names, "le"); i >= 0 {
			bound = values[i]
			names, values = slices.Delete(slices.Clone(names), i, i+1), slices.Delete(slices.Clone(values), i, i+1)
		}
		le, err := strconv.ParseFloat(bound, 64)
		if part == "bucket" && err != nil || part != "bucket" && bound != "" || r.value < 0 {
			refused++
			continue
		}
		key := base + "{" + strings.Join(names, ",") + "}" + strings.Join(values, "\x00")
		d := byKey[key]
		if d == nil {
			d = &distribution{name: base, names: names, values: values, buckets: map[float64]uint64{}}
			byKey[key] = d
			out = append(out, d)
		}
		switch part {
		case "sum":
			d.sum = r.value
		case "count":
			d.count = uint64(r.value)
		case "bucket":
			d.buckets[le] = uint64(r.value)
		}
	}
	return plain, out, refused
}

func (d *distribution) metric() (prometheus.Metric, error) {
	return prometheus.NewConstHistogram(prometheus.NewDesc(d.name, reportedHelp, d.names, nil), d.count, d.sum, d.buckets, d.values...)
}
