package relay

import (
	"fmt"
	"strings"

	"github.com/prometheus/client_golang/prometheus"
	dto "github.com/prometheus/client_model/go"
)

// Samples flattens the registry for the hub: counters and gauges as they are,
// histograms as sum and count. Names keep their labels.
func Samples(g prometheus.Gatherer) map[string]float64 {
	out := map[string]float64{}
	families, err := g.Gather()
	if err != nil {
		return out
	}
	for _, family := range families {
		if !strings.HasPrefix(family.GetName(), "fairlead_") {
			continue
		}
		for _, m := range family.Metric {
			name := family.GetName() + labels(m)
			switch {
			case m.Counter != nil:
				out[name] = m.Counter.GetValue()
			case m.Gauge != nil:
				out[name] = m.Gauge.GetValue()
			case m.Histogram != nil:
				out[family.GetName()+"_sum"+labels(m)] = m.Histogram.GetSampleSum()
				out[family.GetName()+"_count"+labels(m)] = float64(m.Histogram.GetSampleCount())
			}
		}
	}
	return out
}

func labels(m *dto.Metric) string {
	if len(m.Label) == 0 {
		return ""
	}
	var parts []string
	for _, l := range m.Label {
		parts = append(parts, fmt.Sprintf("%s=%q", l.GetName(), l.GetValue()))
	}
	return "{" + strings.Join(parts, ",") + "}"
}
