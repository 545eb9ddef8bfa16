package prometheus

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"
)

// A studio's day as Prometheus sees it, a sample a minute from midnight: the bays'
// PCs are switched on at eight and off at ten in the evening, some players hit,
// the hub's programs are renewed at one o'clock, a backup is taken at three.
const (
	opens, closes = 8*60 + 5, 22 * 60
	renewed       = 13 * 60
	day           = 24 * 60
)

// gone is the value of a sample that is not there.
var gone = math.NaN()

// figures are the samples of a studio, by series without its name and studio.
type figures map[string]func(minute int) float64

func always(v float64) func(int) float64 { return func(int) float64 { return v } }

// onHub grows with the hub's processes, which begin anew when they are renewed.
func onHub(each float64) func(int) float64 {
	return func(m int) float64 {
		if m < renewed {
			return float64(m) * each
		}
		return float64(m-renewed) * each
	}
}

// inBay is what a bay's last heartbeat says: at night it stands.
func inBay(f func(minute int) float64) func(int) float64 {
	return func(m int) float64 {
		if m < opens {
			return f(closes)
		}
		return f(min(m, closes))
	}
}

func open(m int) bool { return m >= opens && m < closes }

func truth(b bool) float64 {
	if b {
		return 1
	}
	return 0
}

// ordinary is a day on which nothing is wrong.
func ordinary() figures {
	f := figures{}
	for _, job := range []string{"engine", "broker", "process", "console", "watch"} {
		f[`up{job="`+job+`"}`] = func(m int) float64 { return truth(m != renewed) }
	}
	for _, bay := range []string{"north", "south"} {
		f.bay(bay)
	}
	f["fairlead_bay_heard_seconds{bay=\"console\"}"] = always(4)
	f["fairlead_collect_clock_offset_seconds{bay=\"console\"}"] = always(0.0004)
	f["fairlead_collect_clock_round_trip_seconds{bay=\"console\"}"] = always(0.0003)
	f["fairlead_collect_journal_oldest_unsent_seconds{bay=\"console\"}"] = always(0)
	f["fairlead_collect_journal_full{bay=\"console\"}"] = always(0)
	f["fairlead_collect_journal_free_bytes{bay=\"console\"}"] = always(9e10)
	f.hub()
	return f
}

func (f figures) bay(bay string) {
	at := func(name, labels string) string { return name + `{bay="` + bay + `"` + labels + `}` }
	lines := func(m int) float64 { return float64(m-opens) * 2 }
	f[at("fairlead_bay_heard_seconds", "")] = func(m int) float64 {
		switch {
		case m < opens:
			return float64(m+day-closes) * 60
		case m < closes:
			return float64(m % 10)
		}
		return float64(m-closes) * 60
	}
	f[at("fairlead_bay_alarm", `,what="silent"`)] = func(m int) float64 {
		if open(m) {
			return gone
		}
		return 1
	}
	f[at("fairlead_collect_journal_oldest_unsent_seconds", "")] = inBay(func(m int) float64 { return float64(m % 7) })
	f[at("fairlead_collect_journal_full", "")] = inBay(always(0))
	f[at("fairlead_collect_journal_free_bytes", "")] = inBay(func(m int) float64 { return 18e9 - float64(m)*1e5 })
	f[at("fairlead_collect_journal_quarantined_entries", "")] = inBay(always(0))
	f[at("fairlead_collect_clock_offset_seconds", "")] = inBay(func(m int) float64 { return 0.2 * math.Sin(float64(m)/90) })
	f[at("fairlead_collect_clock_round_trip_seconds", "")] = inBay(always(0.003))
	f[at("fairlead_collect_feed_up", `,feed="alder"`)] = inBay(always(1))
	f[at("fairlead_collect_lines_total", `,feed="alder"`)] = inBay(lines)
	f[at("fairlead_collect_entries_journalled_total", `,feed="alder"`)] = inBay(lines)
	f[at("fairlead_collect_entries_rejected_total", `,feed="alder",field="carry"`)] = inBay(func(m int) float64 { return math.Floor(lines(m) / 40) })
	f[at("fairlead_collect_journal_append_seconds_bucket", `,le="0.01"`)] = inBay(lines)
	f[at("fairlead_collect_journal_append_seconds_bucket", `,le="+Inf"`)] = inBay(lines)
	f[at("fairlead_gap_open_entries", "")] = func(m int) float64 { return truth(open(m) && m%30 == 0) * 3 }
	f[at("fairlead_gap_repairs_failed_total", "")] = func(m int) float64 { return truth(m > closes) * 2 }
	f[at("fairlead_process_consume_lag_entries", "")] = func(m int) float64 { return truth(m == renewed+1) * 40 }
	f[at("fairlead_process_sensor_drifting", `,device="alder",category="iron",field="carry"`)] = always(0)
	f[at("fairlead_audit_wrong_rows", "")] = always(0)
	f[at("fairlead_audit_mended_rows_total", "")] = always(0)
	f[at("fairlead_broker_bay_floods", "")] = always(0)
	f[at("fairlead_bay_samples_refused", "")] = always(0)
}

func (f figures) hub() {
	for _, le := range []string{"1", "5", "30", "60", "+Inf"} {
		slow := 0.0
		if le == "1" {
			slow = 0.02 // the first after a pause of the store
		}
		f[`fairlead_process_end_to_end_seconds_bucket{le="`+le+`"}`] = onHub(4 * (1 - slow))
		f[`fairlead_process_insert_seconds_bucket{le="`+le+`"}`] = onHub(30)
	}
	f[`fairlead_process_rows_stored_total{table="entries"}`] = onHub(4)
	f[`fairlead_process_store_errors_total{}`] = func(m int) float64 { return truth(m > renewed) } // while the engine began anew
	f[`fairlead_process_bay_returns_total{bay="north"}`] = always(0)
	f[`fairlead_process_bays_owned{instance="hub"}`] = func(m int) float64 { return 2 - 2*truth(m == renewed+1) }
	f[`fairlead_log_set_back_total{stream="SHOTS"}`] = always(0)
	f[`fairlead_log_unfilled_journals{stream="SHOTS"}`] = always(0)
	f[`fairlead_store_detached_parts{}`] = always(0)
	f[`fairlead_visits_taken_back_total{}`] = always(0)
	f[`fairlead_bay_heartbeats_refused_total{}`] = func(m int) float64 { return math.Floor(float64(m) / 100) }
	f[`fairlead_console_oldest_unsent_seconds{job="console"}`] = always(0)
	f[`fairlead_console_events_refused_total{job="console",reason="invalid"}`] = onHub(0.05)
	f[`fairlead_engine_parts{}`] = func(m int) float64 { return 120 + float64(m%50) }
	f[`fairlead_engine_requests_total{outcome="failed",kind="insert"}`] = func(m int) float64 { return truth(m > renewed) * 2 }
	f[`fairlead_engine_disk_free_bytes{}`] = func(m int) float64 { return 9e10 - float64(m)*2e6 }
	f[`fairlead_broker_visits_full_percent{}`] = always(6)
	f[`fairlead_broker_free_bytes{}`] = func(m int) float64 { return 9e10 - float64(m)*2e6 }
	f[`fairlead_tls_certificate_ends_timestamp_seconds{listener="console"}`] = always(60 * 86400)
	f[`fairlead_broker_old_key_spent_percent{key="bay-south"}`] = always(20)
	f[`fairlead_watch_bays_missed{}`] = func(m int) float64 { return truth(m >= 8*60+15 && m < closes) }
	f[`fairlead_watch_untold_alarms{sender="mail"}`] = always(0)
	f[`fairlead_watch_forward_waiting_seconds{}`] = func(m int) float64 { return float64(m%6) * 60 }
	f[`fairlead_watch_forward_alarm_after_seconds{}`] = always(12 * 3600)
	f[`fairlead_backup_age_seconds{}`] = func(m int) float64 { return float64((m+day-180)%day)*60 + 120 }
	f[`fairlead_backup_every_seconds{}`] = always(86400)
	f[`fairlead_backup_tried_age_seconds{}`] = func(m int) float64 { return 5*86400 + float64(m)*60 }
	f[`fairlead_backup_failing{}`] = func(m int) float64 { return truth(m >= 180 && m < 190) } // once, and well at the next
	f[`fairlead_backup_try_every_seconds{}`] = always(7 * 86400)
	// What is counted only once it happened has no sample on such a day:
	// messages and rows set aside, events refused for the console's own reasons.
}

// input writes the samples of minutes [from, to) as promtool reads them, runs of
// one value together.
func (f figures) input(out *strings.Builder, studio string, from, to int) {
	for _, series := range slices.Sorted(maps.Keys(f)) {
		name, labels, _ := strings.Cut(series, "{")
		if labels = strings.TrimSuffix(labels, "}"); labels != "" {
			labels = "," + labels
		}
		fmt.Fprintf(out, "  - series: '%s{studio=%q%s}'\n    values: '", name, studio, labels)
		word := func(m int) string {
			if v := f[series](m); !math.IsNaN(v) {
				return strconv.FormatFloat(v, 'g', -1, 64)
			}
			return "_"
		}
		for m := from; m < to; {
			run := m + 1
			for run < to && word(run) == word(m) {
				run++
			}
			switch w := word(m); {
			case w == "_":
				fmt.Fprintf(out, "_x%d ", run-m)
			default:
				fmt.Fprintf(out, "%s+0x%d ", w, run-m-1)
			}
			m = run
		}
		out.WriteString("'\n")
	}
}
