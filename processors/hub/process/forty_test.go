package process

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/ClickHouse/clickhouse-go/v2"

	"fairlead/deploy/engine/enginetest"
	"fairlead/deploy/proof"
	"fairlead/processors/hub/store"
)

// Forty studios that come back at once after weeks alone reach their head office, with
// the same sums on both sides; what it cost is written down. The studios' stores are one,
// with a day of a real studio under forty names; head office, studios' forwarding, both
// stores and this test share the machine.
func TestFortyStudiosAtOnce(t *testing.T) {
	studios := proof.Cases(0, 40)
	if studios == 0 {
		return // the way of one and two is TestStudiosReachTheirHeadOffice's
	}
	first := newBench(t, setup{studio: "harbour-row"})
	first.bay("north")
	first.startHub()
	first.bays[0].day()
	first.bays[0].hit(300)
	first.bays[0].arrived()
	first.stopHub()
	from, err := clickhouse.ParseDSN(first.dsn)
	if err != nil {
		t.Fatal(err)
	}
	s := store.New(enginetest.New(t).Open(t))
	if err := s.Migrate(t.Context()); err != nil {
		t.Fatal(err)
	}
	var names []string
	for i := range studios {
		names = append(names, fmt.Sprintf("studio-%04d", i)) // as long as harbour-row, inside of records too
		for table, columns := range map[string][]string{"entries": {"entry"}, "visit_events": {"event", "body"}} {
			replaced := []string{fmt.Sprintf("'%s' AS studio", names[i])}
			for _, c := range columns {
				replaced = append(replaced, fmt.Sprintf("replaceAll(%[1]s, 'harbour-row', '%[2]s') AS %[1]s", c, names[i]))
			}
			if err := s.Conn().Exec(t.Context(), fmt.Sprintf("INSERT INTO %[1]s SELECT * REPLACE (%[3]s) FROM %[2]s.%[1]s", table,
				from.Auth.Database, strings.Join(replaced, ", "))); err != nil {
				t.Fatal(err)
			}
		}
	}
	head := newBench(t, setup{studio: "head", keys: true, studios: names})
	head.startHub()
	w := newRoad(t, func() string { return head.broker.listen })
	begun, before := time.Now(), spentBy(t)
	var all []*forwarding
	for _, name := range names {
		b := *first
		b.studio, b.store, b.dir = name, s, filepath.Join(t.TempDir(), name)
		if err := os.MkdirAll(b.dir, 0o700); err != nil {
			t.Fatal(err)
		}
		f := forward(&b, head, w)
		f.every, f.bytes = 0, 256<<10 // as a configuration that says nothing of it
		f.start()
		t.Cleanup(f.stop)
		all = append(all, f)
	}
	// What studios stored as rows of trials is made from the same facts there. A store that
	// has no time for a question is asked again.
	counted := func(of *store.Store, table string) (n uint64) {
		if err := of.Conn().QueryRow(t.Context(), "SELECT count() FROM (SELECT 1 FROM "+table+
			" WHERE startsWith(studio, 'studio-') GROUP BY studio, bay, journal, seq)").Scan(&n); err != nil {
			return 0
		}
		return n
	}
	sums := func(of *store.Store, name string) (out string) {
		proof.Until(t, "sums of "+name, func() bool {
			all, err := of.DaySums(t.Context(), name)
			out = fmt.Sprint(ofFacts(all))
			return err == nil
		})
		return out
	}
	entries, events := counted(s, "entries"), counted(s, "visit_events")
	if entries < uint64(studios)*300 || events == 0 {
		t.Fatalf("%d entries and %d events to send", entries, events)
	}
	onItsWay := time.Duration(0)
	for there := uint64(0); there < entries+events; { // as long as it gets on
		last := there
		proof.Until(t, fmt.Sprintf("the head office gets on from %d of %d", last, entries+events), func() bool {
			if !proof.Rest(t.Context(), time.Second) {
				return false
			}
			waits := uint64(0)
			for _, f := range all {
				s := f.told()
				if waits += s.Entries + s.Events; s.At.IsZero() {
					waits++
				}
			}
			if waits == 0 && onItsWay == 0 {
				onItsWay = time.Since(begun)
			}
			there = counted(head.store, "entries") + counted(head.store, "visit_events")
			t.Logf("after %.0f s %d of %d are there, %d wait in studios", time.Since(begun).Seconds(), there, entries+events, waits)
			return there > last
		})
	}
	took, after := time.Since(begun), spentBy(t)
	sent := uint64(0)
	for _, f := range all {
		if own, there := sums(s, f.b.studio), sums(head.store, f.b.studio); own != there {
			t.Errorf("%s: %v here, %v at the head office", f.b.studio, own, there)
		}
		sent += f.told().Sent
	}
	load := map[string]any{"studios": studios, "entries": entries, "events": events, "sent": sent,
		"seconds": round(took.Seconds()), "in_log_after_seconds": round(onItsWay.Seconds()),
		"entries_a_second": round(float64(entries) / took.Seconds())}
	for what, a := range after {
		load[what] = map[string]any{"processor_seconds": round(a.seconds - before[what].seconds), "most_mib": a.most}
	}
	t.Logf("%+v", load)
	if !t.Failed() {
		proof.Record(t, "forty_studios", load)
	}
}

func round(x float64) float64 { return float64(int(x*10+.5)) / 10 }

// spent is what processes took of the machine.
type spent struct {
	seconds float64 // of processor
	most    int     // MiB that were resident at a time
}

// spentBy reads it of this test (head office's hub and the forwardings), its brokers and
// its engines.
func spentBy(t *testing.T) map[string]spent {
	t.Helper()
	own, out := os.Getpid(), map[string]spent{}
	stats, err := filepath.Glob("/proc/[0-9]*/stat")
	if err != nil || len(stats) == 0 {
		t.Fatal("no /proc: ", err)
	}
	for _, file := range stats {
		text, err := os.ReadFile(file)
		if err != nil {
			continue // it ended
		}
		// pid (name) state ppid …; utime and stime are the 14th and 15th.
		open, end := bytes.IndexByte(text, '('), bytes.LastIndexByte(text, ')')
		fields := strings.Fields(string(text[end+1:]))
		pid, parent := number(string(text[:open])), number(fields[1])
		what := ""
		switch {
		case pid == own:
			what = "hub_and_forwardings"
		case parent == own && strings.Contains(string(text[open:end]), "engine"):
			what = "engine_of_both_stores"
		case parent == own:
			what = "brokers"
		default:
			continue
		}
		s := out[what]
		s.seconds += float64(number(fields[11])+number(fields[12])) / 100
		status, _ := os.ReadFile(filepath.Join(filepath.Dir(file), "status"))
		if _, rest, ok := strings.Cut(string(status), "VmHWM:"); ok {
			s.most += number(strings.Fields(rest)[0]) / 1024
		}
		out[what] = s
	}
	return out
}

func number(text string) int {
	n, _ := strconv.Atoi(strings.TrimSpace(text))
	return n
}

// ofFacts are the sums of what studios send; trials are made from it.
func ofFacts(all []store.DaySum) (out []store.DaySum) {
	for _, d := range all {
		if d.Table == "entries" || d.Table == "visit_events" {
			out = append(out, d)
		}
	}
	return out
}
