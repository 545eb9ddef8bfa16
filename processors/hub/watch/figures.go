package watch

import (
	"context"
	"fmt"
	"net/http"
	"time"

	dto "github.com/prometheus/client_model/go"
	"github.com/prometheus/common/expfmt"
	"github.com/prometheus/common/model"
)

// bound is a figure of a process that says that something is wrong once it has
// been above a bound for a while.
type bound struct {
	metric   string
	where    string // label whose value names the place, after its word; "": the process
	word     string // before that value
	what     string
	above    float64
	for_     time.Duration
	severity Severity
	text     string // takes the figure; what it means and what to try
}

// bounds are the figures of the hub's processes that the watch looks at.
var bounds = []bound{
	{"fairlead_gap_open_entries", "bay", "bay ", "gap", 0, 5 * time.Minute, Warning,
		"%.0f entries that its journal holds are not stored, and asking for them does not help: is its collector reached, is its disk whole? " +
			"`fairlead audit --bay` names journal and numbers; give up what is gone for good with --close"},
	{"fairlead_process_consume_lag_entries", "bay", "bay ", "behind", 1000, 2 * time.Minute, Warning,
		"%.0f of its entries wait in the log to be tagged: the hub is out of breath, or the store is slow. Nothing is lost. See processor, " +
			"memory and disk of the hub"},
	{"fairlead_broker_bay_floods", "bay", "bay ", Flooding, 0, 0, Critical,
		"it said more than broker.quota allows and was cut off for a while, %.0f times in an hour; its journal keeps what it has, and the " +
			"other bays go on. Does a device or a program there run wild? If neither: somebody has its key, `fairlead keys revoke` ends that"},
	{"fairlead_broker_old_key_spent_percent", "key", "key ", "ending", 50, 0, Warning,
		"somebody still goes by its old secret, and %.0f hundredths of the time for which that is taken are over: bring its .seed from the " +
			"hub's keys to the machine that uses it, and start what runs there anew. After that time it is refused"},
	{"fairlead_broker_visits_full_percent", "", "", "filling", 80, 0, Warning,
		"the log of what fitters enter has taken %.0f hundredths of broker.visits. At 100 it takes no more: what is entered then waits in the " +
			"console's journal, and no erasure ends. Raise broker.visits and start the broker anew"},
	{"fairlead_process_sensor_drifting", "bay", "bay ", "drifting", 0, 10 * time.Minute, Warning,
		"a device's figures have left what its own launch values give, by more than chance explains (%.0f): clean and level it, look at the " +
			"ball and air set in it, calibrate it by its maker's instructions. Until then compare within this bay only"},
	{"fairlead_audit_wrong_rows", "bay", "store of ", "wrong", 0, 10 * time.Minute, Warning,
		"%.0f rows or lines are not what journals and events say, and could not be made right by themselves: `fairlead audit` names them and " +
			"what can be done"},
	{"fairlead_log_unfilled_journals", "stream", "log ", "unfilled", 0, 15 * time.Minute, Warning,
		"%.0f journals have yet to fill in what the log lost: switch on the PCs of silent bays, and clear no journal meanwhile"},
}

// Figures looks at what a process shows of itself.
type Figures struct {
	Metrics func(context.Context) (map[string]*dto.MetricFamily, error)
	Now     func() time.Time

	since map[key]time.Time
	owned float64
	moves []time.Time
}

const (
	// movesFor is how long a moved lease is counted, and movesMost how many are usual
	// in it: a processor that was started again takes its bays once.
	movesFor  = 10 * time.Minute
	movesMost = 6
)

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
		worst := map[string]float64{}
		for _, m := range families[b.metric].GetMetric() {
			if v := value(m); v > b.above {
				place := b.word + label(m, b.where)
				worst[place] = max(worst[place], v)
			}
		}
		for place, v := range worst {
			k := key{place, b.what}
			since[k] = now
			if begun, known := f.since[k]; known {
				since[k] = begun
			}
			if now.Sub(since[k]) >= b.for_ {
				out = append(out, Alarm{Where: place, What: b.what, Severity: b.severity, Text: fmt.Sprintf(b.text, v)})
			}
		}
	}
	f.since = since
	return append(out, f.leases(families, now)...)
}

// leases notices that bays go to and fro between processors.
func (f *Figures) leases(families map[string]*dto.MetricFamily, now time.Time) []Alarm {
	family := families["fairlead_process_bays_owned"].GetMetric()
	if len(family) == 0 {
		return nil
	}
	if n := value(family[0]); n != f.owned {
		f.owned = n
		f.moves = append(f.moves, now)
	}
	for len(f.moves) > 0 && now.Sub(f.moves[0]) > movesFor {
		f.moves = f.moves[1:]
	}
	if len(f.moves) <= movesMost {
		return nil
	}
	return []Alarm{{Where: Process, What: "leases", Severity: Warning,
		Text: fmt.Sprintf("the bays that it serves changed %d times in %s: leases go to and fro. "+
			"Is the broker slow, the hub's machine out of breath, or does a second processor start again and again? See `journalctl -u fairlead`",
			len(f.moves), movesFor)}}
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
