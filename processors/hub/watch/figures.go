package watch

import (
	"context"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"time"

	dto "github.com/prometheus/client_model/go"
	"github.com/prometheus/common/expfmt"
	"github.com/prometheus/common/model"
)

// bound is a figure of a process that says that something is wrong once it has
// been above a bound for a while.
type bound struct {
	metric   string
	where    string   // label whose value names the place, after its word; "": the process
	names    []string // labels that say which one of the place it is, joined before the text
	word     string   // before that value
	what     string
	above    float64
	for_     time.Duration
	severity Severity
	text     string // takes the figure; what it means and what to try
}

// bounds are the figures of the hub's processes that the watch looks at.
var bounds = []bound{
	{"fairlead_gap_asks_in_vain", "bay", nil, "bay ", "gap", 1, 0, Warning,
		"its journal holds entries that are not stored, and asking for them did not help %.0f times: is its collector reached, is its disk " +
			"whole? `fairlead audit --bay` names journal and numbers; give up what is gone for good with --close"},
	{"fairlead_process_consume_lag_entries", "bay", nil, "bay ", "behind", 1000, 2 * time.Minute, Warning,
		"%.0f of its entries wait in the log to be tagged: the hub is out of breath, or the store is slow. Nothing is lost. See processor, " +
			"memory and disk of the hub"},
	{"fairlead_broker_bay_floods", "bay", nil, "bay ", Flooding, 0, 0, Critical,
		"it said more than broker.quota allows and was cut off for a while, %.0f times in an hour; its journal keeps what it has, and the " +
			"other bays go on. Does a device or a program there run wild? If neither: somebody has its key, `fairlead keys revoke` ends that"},
	{"fairlead_broker_old_key_spent_percent", "key", nil, "key ", "ending", 50, 0, Warning,
		"somebody still goes by its old secret, and %.0f hundredths of the time for which that is taken are over: bring its .seed from the " +
			"hub's keys to the machine that uses it, and start what runs there anew. After that time it is refused"},
	{"fairlead_broker_visits_full_percent", "", nil, "", "filling", 80, 0, Warning,
		"the log of what fitters enter has taken %.0f hundredths of broker.visits. At 100 it takes no more: what is entered then waits in the " +
			"console's journal, and no erasure ends. Raise broker.visits and start the broker anew"},
	{"fairlead_process_sensor_drifting", "bay", []string{"device", "category", "field"}, "bay ", "drifting", 0, 0, Warning,
		"what the device measures has left what its own launch values give, by more than chance explains: clean and level it, look at the " +
			"ball and air set in it, calibrate it by its maker's instructions. Until then compare within this bay only"},
	{"fairlead_audit_wrong_rows", "bay", nil, "store of ", "wrong", 0, 10 * time.Minute, Warning,
		"%.0f rows or lines are not what journals and events say, and could not be made right by themselves: `fairlead audit` names them and " +
			"what can be done"},
	{"fairlead_log_unfilled_journals", "stream", nil, "log ", "unfilled", 0, 15 * time.Minute, Warning,
		"%.0f journals have yet to fill in what the log lost: switch on the PCs of silent bays, and clear no journal meanwhile"},
}

// Figures looks at what a process shows of itself.
type Figures struct {
	Metrics func(context.Context) (map[string]*dto.MetricFamily, error)
	Now     func() time.Time

	since    map[key]time.Time
	began    float64            // the processor that is looked at, s
	returned map[string]float64 // how often each bay came back to it
	returns  map[string][]time.Time
}

const (
	// returnsFor is how long it is counted that a bay came back to a processor, and
	// returnsMost how often that is usual in it: another processor came and went.
	returnsFor  = 10 * time.Minute
	returnsMost = 2
)

// Go has an alarm that lasted when an earlier watch looked last need no while of its own.
func (f *Figures) Go(on []Known) {
	f.since = map[key]time.Time{}
	for _, k := range on {
		f.since[k.key()] = time.Time{}
	}
}

// say is the alarm's text: which of a place's are above the bound, and what that means.
func (b bound) say(which []string, v float64) string {
	if len(b.names) == 0 {
		return fmt.Sprintf(b.text, v)
	}
	slices.Sort(which)
	return strings.Join(which, " and ") + ": " + b.text
}

// name is which one of a place a figure is of.
func (b bound) name(m *dto.Metric) string {
	var parts []string
	for _, n := range b.names {
		if v := label(m, n); v != "" {
			parts = append(parts, v)
		}
	}
	return strings.Join(parts, ", ")
}

// Look lists what is above its bound for long enough. Figures that can't be had
// say nothing: that the process hangs is told by its probe.
func (f *Figures) Look(ctx context.Context) (out []Alarm) {
	short, cancel := context.WithTimeout(ctx, probeWithin)
	defer cancel()
	families, err := f.Metrics(short)
	if err != nil {
		return nil
	}
	now := f.Now()
	since := map[key]time.Time{}
	for _, b := range bounds {
		worst, which := map[string]float64{}, map[string][]string{}
		for _, m := range families[b.metric].GetMetric() {
			if v := value(m); v > b.above {
				place := b.word + label(m, b.where)
				worst[place] = max(worst[place], v)
				if one := b.name(m); one != "" {
					which[place] = append(which[place], one)
				}
			}
		}
		for place, v := range worst {
			k := key{place, b.what}
			since[k] = now
			if begun, known := f.since[k]; known {
				since[k] = begun
			}
			if now.Sub(since[k]) >= b.for_ {
				out = append(out, Alarm{Where: place, What: b.what, Severity: b.severity, Text: b.say(which[place], v)})
			}
		}
	}
	f.since = since
	return append(out, f.leases(families, now)...)
}

// leases notices that bays go to and fro between processors.
func (f *Figures) leases(families map[string]*dto.MetricFamily, now time.Time) []Alarm {
	began := 0.0
	if start := families["process_start_time_seconds"].GetMetric(); len(start) > 0 {
		began = value(start[0])
	}
	first := f.returned == nil // what was before the watch began is no news
	if began != f.began || first {
		f.began, f.returned = began, map[string]float64{}
	}
	if f.returns == nil {
		f.returns = map[string][]time.Time{}
	}
	var moving []string
	for _, m := range families["fairlead_process_bay_returns_total"].GetMetric() {
		bay, v := label(m, "bay"), value(m)
		for range int(v - f.returned[bay]) {
			if !first {
				f.returns[bay] = append(f.returns[bay], now)
			}
		}
		f.returned[bay] = v
	}
	for bay, at := range f.returns {
		at = slices.DeleteFunc(at, func(t time.Time) bool { return now.Sub(t) > returnsFor })
		if f.returns[bay] = at; len(at) > returnsMost {
			moving = append(moving, fmt.Sprintf("%s %d times", bay, len(at)))
		}
	}
	if len(moving) == 0 {
		return nil
	}
	slices.Sort(moving)
	return []Alarm{{Where: Process, What: "leases", Severity: Warning,
		Text: fmt.Sprintf("leases go to and fro: it lost bays and got them back, within %s %s. "+
			"Is the broker slow, the hub's machine out of breath, or does a second processor start again and again? See `journalctl -u fairlead`",
			returnsFor, strings.Join(moving, ", "))}}
}

func value(m *dto.Metric) float64 {
	if m.GetGauge() != nil {
		return m.GetGauge().GetValue()
	}
	return m.GetCounter().GetValue() + m.GetUntyped().GetValue()
}

func label(m *dto.Metric, name string) string {
	for _, l := range m.GetLabel() {
		if l.GetName() == name {
			return l.GetValue()
		}
	}
	return ""
}

// Scrape reads what a process shows below a URL at /metrics.
func Scrape(client *http.Client, address func() string) func(context.Context) (map[string]*dto.MetricFamily, error) {
	return func(ctx context.Context) (map[string]*dto.MetricFamily, error) {
		r, err := http.NewRequestWithContext(ctx, http.MethodGet, address()+"/metrics", nil)
		if err != nil {
			return nil, err
		}
		resp, err := client.Do(r)
		if err != nil {
			return nil, err
		}
		defer resp.Body.Close()
		p := expfmt.NewTextParser(model.UTF8Validation)
		return p.TextToMetricFamilies(resp.Body)
	}
}

// Scraped reads what a process shows.
type Scraped = func(context.Context) (map[string]*dto.MetricFamily, error)

// Together reads what several processes show. One that can't be read is left out;
// none at all is the last one's error.
func Together(all ...Scraped) Scraped {
	return func(ctx context.Context) (map[string]*dto.MetricFamily, error) {
		var out map[string]*dto.MetricFamily
		var failed error
		for _, one := range all {
			families, err := one(ctx)
			if err != nil {
				failed = err
				continue
			}
			if out == nil {
				out = map[string]*dto.MetricFamily{}
			}
			for name, f := range families {
				if _, there := out[name]; !there { // what each process tells of itself is the first one's
					out[name] = f
				}
			}
		}
		if out == nil {
			return nil, failed
		}
		return out, nil
	}
}
