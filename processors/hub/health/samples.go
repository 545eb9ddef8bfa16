package health

import (
	"regexp"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/prometheus/client_golang/prometheus"

	"fairlead/ingest/log/stream"
)

// What one bay may add to the page of metrics. A collector with twelve feeds
// reports about two hundred samples.
const (
	maxSamples = 500
	maxLabels  = 8
	maxValue   = 64 // bytes of a label's value
)

var sample = regexp.MustCompile(`^([a-z][a-z0-9_]{0,99})(?:\{(.*)\})?$`)
var pair = regexp.MustCompile(`([a-z][a-z0-9_]{0,31})="((?:[^"\\]|\\.)*)"`)

// reported is one sample of a bay, fit to be shown.
type reported struct {
	name   string
	names  []string // of labels; studio and bay come first
	values []string
	kind   prometheus.ValueType
	value  float64
}

// samples reads what a bay reports. A bay can't speak in the hub's names or for
// another bay, say a thing twice, or fill the page: what does not fit is left
// out and counted, and never spoils the rest.
func samples(place stream.Place, counters map[string]float64) (out []reported, refused int) {
	keys := make([]string, 0, len(counters))
	for key := range counters {
		if strings.HasPrefix(key, "fairlead_") { // Go's own and the system's are not passed on
			keys = append(keys, key)
		}
	}
	slices.Sort(keys)
	seen := map[string]bool{}
	for _, key := range keys {
		s, ok := parseSample(place, key)
		said := s.name + "{" + strings.Join(s.names, ",") + "}" + strings.Join(s.values, "\x00")
		if !ok || seen[said] || len(out) == maxSamples {
			refused++
			continue
		}
		seen[said] = true
		s.value = counters[key]
		out = append(out, s)
	}
	return out, refused
}

func parseSample(place stream.Place, key string) (s reported, ok bool) {
	m := sample.FindStringSubmatch(key)
	if m == nil {
		return s, false
	}
	s.name = m[1]
	switch {
	case s.name == "fairlead_build_info":
		// The hub's own process exposes this name with a help of its own, and a
		// registry answers nothing at all when the two differ.
		s.name = "fairlead_bay_build_info"
	case strings.HasPrefix(s.name, "fairlead_collect_"):
	case strings.HasPrefix(s.name, "fairlead_console_") && place.Bay == stream.ConsoleBay:
	default:
		return s, false
	}
	s.names, s.values = []string{"studio", "bay"}, []string{place.Studio, place.Bay}
	pairs := pair.FindAllStringSubmatch(m[2], -1)
	if len(pairs) > maxLabels {
		return s, false
	}
	slices.SortFunc(pairs, func(a, b []string) int { return strings.Compare(a[1], b[1]) })
	for _, p := range pairs {
		if slices.Contains(s.names, p[1]) || strings.HasPrefix(p[1], "__") || !utf8.ValidString(p[2]) {
			return s, false
		}
		s.names, s.values = append(s.names, p[1]), append(s.values, short(p[2]))
	}
	s.kind = prometheus.GaugeValue
	if strings.HasSuffix(s.name, "_total") {
		s.kind = prometheus.CounterValue
	}
	return s, true
}

// short cuts a text to what a label may hold, between runes.
func short(text string) string {
	if len(text) <= maxValue {
		return text
	}
	text = text[:maxValue]
	for !utf8.ValidString(text) {
		text = text[:len(text)-1]
	}
	return text
}
