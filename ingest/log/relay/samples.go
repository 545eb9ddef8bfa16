package relay

import (
	"fmt"
	"strconv"
	"strings"

	"github.com/prometheus/client_golang/prometheus"
	dto "github.com/prometheus/client_model/go"
	"google.golang.org/protobuf/proto"
)

// Samples flattens the registry for the hub: counters and gauges as they are,
// histograms as Prometheus writes them, by bucket, sum and count. Names keep their labels.
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
			name := family.GetName() + labels(m.Label)
			switch {
			case m.Counter != nil:
				out[name] = m.Counter.GetValue()
			case m.Gauge != nil:
				out[name] = m.Gauge.GetValue()
			case m.Histogram != nil:
				out[family.GetName()+"_sum"+labels(m.Label)] = m.Histogram.GetSampleSum()
				out[family.GetName()+"_count"+labels(m.Label)] = float64(m.Histogram.GetSampleCount())
				for _, b := range m.Histogram.Bucket {
					le := &dto.LabelPair{Name: proto.String("le"), Value: proto.String(strconv.FormatFloat(b.GetUpperBound(), 'g', -1, 64))}
					out[family.GetName()+"_bucket"+labels(append(m.Label[:len(m.Label):len(m.Label)], le))] = float64(b.GetCumulativeCount())
				}
			}
		}
	}
	return out
}

func labels(pairs []*dto.LabelPair) string {
	if len(pairs) == 0 {
		return ""
	}
	var parts []string
	for _, l := range pairs {
		parts = append(parts, fmt.Sprintf("%s=%q", l.GetName(), l.GetValue()))
	}
	return "{" + strings.Join(parts, ",") + "}"
}
