package process

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/ClickHouse/clickhouse-go/v2"

	"fairlead/deploy/engine/enginetest"
	"fairlead/deploy/proof"
	"fairlead/processors/hub/store"
)

// Forty studios that come back at once after weeks alone reach their head office, with
// the same sums on both sides; what it cost is written down. The studios' stores are one,
// with a day of a real studio under forty names, many times over; head office, studios'
// forwarding and this test share the machine.
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
	spent := func() (cpu time.Duration, most int64) {
		var own syscall.Rusage
		if err := syscall.Getrusage(syscall.RUSAGE_SELF, &own); err != nil {
			t.Fatal(err)
		}
		return time.Duration(own.Utime.Nano() + own.Stime.Nano()), own.Maxrss / 1024
	}
	begun, before := time.Now(), time.Duration(0)
	before, _ = spent()
	for _, name := range names {
		b := *first
		b.studio, b.store, b.dir = name, s, filepath.Join(t.TempDir(), name)
		if err := os.MkdirAll(b.dir, 0o700); err != nil {
			t.Fatal(err)
		}
		f := forward(&b, head, w)
		f.start()
		t.Cleanup(f.stop)
	}
	// What studios stored as rows of trials is made from the same facts there.
	counted := func(of *store.Store, table string) (n uint64) {
		if err := of.Conn().QueryRow(t.Context(), "SELECT count() FROM (SELECT 1 FROM "+table+
			" WHERE startsWith(studio, 'studio-') GROUP BY studio, bay, journal, seq)").Scan(&n); err != nil {
			t.Fatal(err)
		}
		return n
	}
	want := map[string]uint64{"entries": counted(s, "entries"), "visit_events": counted(s, "visit_events")}
	all := want["entries"] + want["visit_events"]
	for there := uint64(0); there < all; { // as long as it gets on
		last := there
		proof.Until(t, fmt.Sprintf("the head office gets on from %d of %d", last, all), func() bool {
			if !proof.Rest(t.Context(), time.Second) {
				return false
			}
			there = counted(head.store, "entries") + counted(head.store, "visit_events")
			return there > last
		})
	}
	cpu, most := spent()
	took := time.Since(begun)
	for _, name := range names {
		own, err := s.DaySums(t.Context(), name)
		if err != nil {
			t.Fatal(err)
		}
		there, err := head.store.DaySums(t.Context(), name)
		if err != nil {
			t.Fatal(err)
		}
		if a, b := ofFacts(own), ofFacts(there); fmt.Sprint(a) != fmt.Sprint(b) {
			t.Errorf("%s: %v here, %v at the head office", name, a, b)
		}
	}
	t.Logf("%d studios, %d entries and %d events in %.1f s: %.1f s of processor, %d MiB at most (head office's hub and %d forwardings)",
		studios, want["entries"], want["visit_events"], took.Seconds(), (cpu - before).Seconds(), most, studios)
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
