package prometheus

import (
	"fmt"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// A fault begins at eleven and stays.
const begins = 11 * 60

// from makes a series another one from when the fault begins.
func (f figures) from(series string, then func(minute int) float64) {
	before := f[series]
	f[series] = func(m int) float64 {
		switch {
		case m >= begins:
			return then(m)
		case before == nil:
			return gone
		}
		return before(m)
	}
}

// grows counts from the fault's begin.
func grows(from, each float64) func(int) float64 {
	return func(m int) float64 { return from + float64(m-begins)*each }
}

// unread takes away what a process shows that does not answer.
func (f figures) unread(job string, series ...string) {
	f.from(`up{job="`+job+`"}`, always(0))
	for name := range maps.Clone(f) {
		if slices.ContainsFunc(series, func(s string) bool { return strings.HasPrefix(name, s) }) {
			f.from(name, always(gone))
		}
	}
}

func (f figures) silent(bay string) {
	f.from(`fairlead_bay_heard_seconds{bay="`+bay+`"}`, grows(5, 60))
	f.from(`fairlead_bay_alarm{bay="`+bay+`",what="silent"}`, always(1))
}

func (f figures) late(bay string) {
	f.from(`fairlead_collect_journal_oldest_unsent_seconds{bay="`+bay+`"}`, grows(5, 60))
}

// what happens to a studio, and the one alert that it is named by.
var faults = map[string]struct {
	alert string
	cause func(figures)
}{
	"processor-hangs": {"FairleadProcessDown", func(f figures) {
		f.unread("process", "fairlead_process", "fairlead_bay", "fairlead_collect", "fairlead_gap", "fairlead_log", "fairlead_audit",
			"fairlead_store")
	}},
	"broker-hangs": {"FairleadProcessDown", func(f figures) {
		f.unread("broker", "fairlead_broker")
		for _, bay := range []string{"north", "south", "console"} {
			f.silent(bay)
		}
		f.from(`fairlead_console_oldest_unsent_seconds{job="console"}`, grows(5, 60))
	}},
	"engine-hangs": {"FairleadProcessDown", func(f figures) {
		f.unread("engine", "fairlead_engine")
		f.from(`fairlead_process_store_errors_total{}`, grows(0, 6))
		f.from(`fairlead_process_consume_lag_entries{bay="north"}`, grows(5, 60))
	}},
	"console-hangs": {"FairleadProcessDown", func(f figures) {
		f.unread("console", "fairlead_console")
		f.silent("console")
	}},
	"watch-hangs": {"FairleadProcessDown", func(f figures) { f.unread("watch", "fairlead_watch", "fairlead_backup") }},
	"bay-dies":    {"FairleadBaySilent", func(f figures) { f.silent("north"); f.late("north") }},
	"wire-is-bad": {"FairleadBayLate", func(f figures) { f.late("north") }},
	"log-is-full": {"FairleadBrokerSlow", func(f figures) { f.late("north"); f.late("south") }},
	"bay-disk-full": {"FairleadJournalFull", func(f figures) {
		f.from(`fairlead_collect_journal_full{bay="north"}`, always(1))
		f.from(`fairlead_collect_journal_free_bytes{bay="north"}`, always(2e8))
	}},
	"bay-disk-fills": {"FairleadBayDiskFilling", func(f figures) {
		f.from(`fairlead_collect_journal_free_bytes{bay="north"}`, grows(18e9, -2e7))
	}},
	"hub-disk-fills": {"FairleadHubDiskFilling", func(f figures) {
		f.from(`fairlead_engine_disk_free_bytes{}`, grows(6e9, -1e8))
		f.from(`fairlead_broker_free_bytes{}`, grows(6e9, -1e8))
	}},
	"bay-clock":     {"FairleadClockSkew", func(f figures) { f.from(`fairlead_collect_clock_offset_seconds{bay="north"}`, always(-3600)) }},
	"hub-clock":     {"FairleadHubClockSet", func(f figures) { f.from(`fairlead_collect_clock_offset_seconds{bay="console"}`, always(90)) }},
	"gap-stays":     {"FairleadGapsOpen", func(f figures) { f.from(`fairlead_gap_open_entries{bay="north"}`, always(7)) }},
	"journal-hurt":  {"FairleadJournalDamaged", func(f figures) { f.from(`fairlead_collect_journal_quarantined_entries{bay="north"}`, always(3)) }},
	"folder-gone":   {"FairleadFeedStopped", func(f figures) { f.from(`fairlead_collect_feed_up{bay="north",feed="alder"}`, always(0)) }},
	"store-refuses": {"FairleadStoreErrors", func(f figures) { f.from(`fairlead_process_store_errors_total{}`, grows(0, 6)) }},
	"hub-too-small": {"FairleadConsumeLag", func(f figures) { f.from(`fairlead_process_consume_lag_entries{bay="north"}`, grows(5, 60)) }},
	"repairs-fail": {"FairleadRepairsFail", func(f figures) {
		f.from(`fairlead_gap_open_entries{bay="north"}`, always(7))
		f.from(`fairlead_gap_repairs_failed_total{bay="north"}`, grows(6, 6))
	}},
	"map-is-wrong": {"FairleadLinesRejected", func(f figures) {
		f.from(`fairlead_collect_entries_rejected_total{bay="north",feed="alder",field="carry"}`, grows(9, 2))
	}},
	"store-is-slow": {"FairleadSlow", func(f figures) {
		for _, le := range []string{"1", "5", "30"} {
			f.from(`fairlead_process_end_to_end_seconds_bucket{le="`+le+`"}`, always(4*begins))
		}
	}},
	"messages-unread": {"FairleadMessagesSetAside", func(f figures) { f.from(`fairlead_process_messages_set_aside_total{reason="unread"}`, always(1)) }},
	"rows-refused":    {"FairleadRowsSetAside", func(f figures) { f.from(`fairlead_process_rows_set_aside_total{table="entries"}`, always(1)) }},
	"log-set-back":    {"FairleadLogSetBack", func(f figures) { f.from(`fairlead_log_set_back_total{stream="SHOTS"}`, always(1)) }},
	"log-has-holes":   {"FairleadLogUnfilled", func(f figures) { f.from(`fairlead_log_unfilled_journals{stream="SHOTS"}`, always(2)) }},
	"device-drifts": {"FairleadSensorDrifting", func(f figures) {
		f.from(`fairlead_process_sensor_drifting{bay="north",device="alder",category="iron",field="carry"}`, always(1))
	}},
	"visits-fill": {"FairleadVisitsFull", func(f figures) { f.from(`fairlead_broker_visits_full_percent{}`, always(99)) }},
	"events-wait": {"FairleadVisitEventsWait", func(f figures) { f.from(`fairlead_console_oldest_unsent_seconds{job="console"}`, grows(5, 60)) }},
	"events-refused": {"FairleadVisitEventsRefused", func(f figures) {
		f.from(`fairlead_console_events_refused_total{job="console",reason="full"}`, always(1))
	}},
	"engine-behind": {"FairleadEngineParts", func(f figures) { f.from(`fairlead_engine_parts{}`, always(1500)) }},
	"statements-fail": {"FairleadEngineFailures", func(f figures) {
		f.from(`fairlead_engine_requests_total{outcome="failed",kind="insert"}`, grows(2, 20))
	}},
	"parts-damaged":  {"FairleadPartsDamaged", func(f figures) { f.from(`fairlead_store_detached_parts{}`, always(1)) }},
	"rows-wrong":     {"FairleadAuditWrong", func(f figures) { f.from(`fairlead_audit_wrong_rows{bay="north"}`, always(2)) }},
	"rows-mended":    {"FairleadAuditMended", func(f figures) { f.from(`fairlead_audit_mended_rows_total{bay="north"}`, always(2)) }},
	"hub-forgot":     {"FairleadVisitsTakenBack", func(f figures) { f.from(`fairlead_visits_taken_back_total{}`, always(4)) }},
	"stranger":       {"FairleadStrangersSpeak", func(f figures) { f.from(`fairlead_bay_heartbeats_refused_total{}`, grows(6, 6)) }},
	"figures-odd":    {"FairleadSamplesRefused", func(f figures) { f.from(`fairlead_bay_samples_refused{bay="north"}`, always(9)) }},
	"mail-is-stuck":  {"FairleadNobodyIsTold", func(f figures) { f.from(`fairlead_watch_untold_alarms{sender="mail"}`, always(1)) }},
	"no-backup":      {"FairleadBackupOld", func(f figures) { f.from(`fairlead_backup_age_seconds{}`, grows(130000, 60)) }},
	"backups-fail":   {"FairleadBackupFailing", func(f figures) { f.from(`fairlead_backup_failing{}`, always(1)) }},
	"backup-untried": {"FairleadBackupUntried", func(f figures) { f.from(`fairlead_backup_tried_age_seconds{}`, grows(15*86400, 60)) }},
	"key-ends": {"FairleadKeyEnds", func(f figures) {
		f.from(`fairlead_broker_old_key_spent_percent{key="bay-north"}`, func(m int) float64 { return 40 + float64(m-begins) })
	}},
	"certificate": {"FairleadCertificateEnds", func(f figures) {
		f.from(`fairlead_tls_certificate_ends_timestamp_seconds{listener="console"}`, always(12*86400))
	}},
	"leases-move": {"FairleadLeasesMove", func(f figures) {
		f.from(`fairlead_process_bay_returns_total{bay="north"}`, func(m int) float64 { return float64(max(0, m-begins) / 2) })
	}},
	"office-away": {"FairleadForwardWaits", func(f figures) { f.from(`fairlead_watch_forward_waiting_seconds{}`, grows(43000, 60)) }},
	"bay-floods": {"FairleadBayFloods", func(f figures) {
		f.silent("north")
		f.late("north")
		f.from(`fairlead_broker_bay_floods{bay="north"}`, always(2))
	}},
}

// A whole day on which nothing is wrong rings nothing, though bays are switched
// off at night and programs are renewed; and of that day each fault rings its
// own alert and no other.
func TestADayAndItsFaults(t *testing.T) {
	ordinaryDay := ordinary()
	for name := range rungBy() {
		if !slices.ContainsFunc(rules(t), func(r rule) bool { return r.Alert == name }) {
			t.Errorf("no rule %s", name)
		}
	}
	seen := map[string]bool{}
	for series := range ordinaryDay {
		name, _, _ := strings.Cut(series, "{")
		seen[name] = true
	}
	for _, once := range []string{"fairlead_process_messages_set_aside_total", "fairlead_process_rows_set_aside_total"} {
		seen[once] = true
	}
	for _, r := range rules(t) {
		seen[r.Record] = true
	}
	for _, r := range rules(t) {
		for _, name := range metricName.FindAllString(r.Expr, -1) {
			if !seen[name] {
				t.Errorf("%s%s asks for %s, of which the day has no sample", r.Record, r.Alert, name)
			}
		}
		if r.Alert != "" && r.Alert != "FairleadNothingRead" && !rungBy()[r.Alert] {
			t.Errorf("no fault rings %s", r.Alert)
		}
	}

	here, err := filepath.Abs("rules.yml")
	if err != nil {
		t.Fatal(err)
	}
	var text strings.Builder
	// In steps of three minutes, for a day's rules take their time.
	fmt.Fprintf(&text, "rule_files: [%s]\nevaluation_interval: 3m\ntests:\n- interval: 1m\n  input_series:\n", here)
	ordinaryDay.input(&text, "harbour-row", 0, day)
	fmt.Fprintf(&text, "  promql_expr_test:\n  - expr: 'group by (studio, alertname) (count_over_time(ALERTS{alertstate=\"firing\"}[1d]))'\n"+
		"    eval_time: %dm\n", day-3)
	text.WriteString("- interval: 1m\n  input_series:\n")
	const before, after = 16, 53 // minutes that a fault is looked at
	for _, name := range slices.Sorted(maps.Keys(faults)) {
		f := ordinary()
		faults[name].cause(f)
		f.input(&text, name, begins-before, begins+after+1)
	}
	text.WriteString("  promql_expr_test:\n")
	for _, name := range slices.Sorted(maps.Keys(faults)) {
		fmt.Fprintf(&text, "  - expr: 'group by (studio, alertname) (count_over_time(ALERTS{alertstate=\"firing\",studio=%q}[%dm]))'\n"+
			"    eval_time: %dm\n"+
			"    exp_samples: [{labels: '{studio=%q, alertname=%q}', value: 1}]\n", name, before+after, before+after, name, faults[name].alert)
	}
	file := filepath.Join(t.TempDir(), "day.yml")
	if err := os.WriteFile(file, []byte(text.String()), 0o600); err != nil {
		t.Fatal(err)
	}
	if out, err := exec.CommandContext(t.Context(), tool(t, "promtool"), "test", "rules", file).CombinedOutput(); err != nil {
		t.Errorf("%v\n%s", err, out)
	}
}

func rungBy() map[string]bool {
	out := map[string]bool{}
	for _, f := range faults {
		out[f.alert] = true
	}
	return out
}
