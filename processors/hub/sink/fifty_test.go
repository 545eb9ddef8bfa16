//go:build linux

package sink

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/prometheus/client_golang/prometheus"
	"google.golang.org/protobuf/proto"

	"fairlead/deploy/engine"
	"fairlead/deploy/engine/enginetest"
	"fairlead/deploy/proof"
	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/stream"
	"fairlead/processors/hub/store"
)

// used is what a process has used since it began.
type used struct {
	written uint64 // bytes given to the disk
	busy    time.Duration
}

func usedBy(b *testing.B, pid int) (u used) {
	b.Helper()
	io, err := os.ReadFile(fmt.Sprintf("/proc/%d/io", pid))
	if err != nil {
		b.Fatal(err)
	}
	for line := range strings.Lines(string(io)) {
		if n, ok := strings.CutPrefix(line, "write_bytes: "); ok {
			u.written, _ = strconv.ParseUint(strings.TrimSpace(n), 10, 64)
		}
	}
	stat, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", pid))
	if err != nil {
		b.Fatal(err)
	}
	_, rest, _ := strings.Cut(string(stat), ") ")
	fields := strings.Fields(rest)
	for _, f := range fields[11:13] { // in user and system mode, in hundredths
		n, _ := strconv.Atoi(f)
		u.busy += time.Duration(n) * 10 * time.Millisecond
	}
	return u
}

// BenchmarkFiftyBays: what the engine writes and works for a shot while fifty
// bays hit nine shots a second among them, against the same shots with an insert
// for each, and how long a shot takes from the log to the state that is shown.
func BenchmarkFiftyBays(b *testing.B) {
	usual := usualPace()
	var at, paced fifty
	for b.Loop() {
		at.add(fiftyBays(b, &pace{}))
		paced.add(fiftyBays(b, &usual))
	}
	b.ReportMetric(paced.written/paced.shots/1000, "kB/shot")
	b.ReportMetric(100*paced.busy/paced.seconds, "%core")
	b.ReportMetric(at.written/at.shots/1000, "raw-kB/shot")
	b.ReportMetric(100*at.busy/at.seconds, "raw-%core")
	b.ReportMetric(at.written/at.shots/(paced.written/paced.shots), "ratio-to-raw")
	slices.Sort(paced.shown)
	b.ReportMetric(paced.shown[len(paced.shown)*99/100]*1000, "p99-shown-ms")
	b.ReportMetric(paced.shown[len(paced.shown)/2]*1000, "p50-shown-ms")
}

type fifty struct {
	written, shots, busy, seconds float64
	shown                         []float64 // s, of each shot
}

func (f *fifty) add(o fifty) {
	f.written, f.shots, f.busy, f.seconds = f.written+o.written, f.shots+o.shots, f.busy+o.busy, f.seconds+o.seconds
	f.shown = append(f.shown, o.shown...)
}

func fiftyBays(b *testing.B, p *pace) (f fifty) {
	const bays, perSecond, seconds = 50, 9, 40
	l := newBenchLog(b)
	binary, err := enginetest.Binary()
	if err != nil {
		b.Fatal(err)
	}
	dir := b.TempDir()
	e, err := engine.Start(b.Context(), engine.Options{Binary: binary, DataDir: filepath.Join(dir, "data"),
		TokenFile: filepath.Join(dir, "token")})
	if err != nil {
		b.Fatal(err)
	}
	defer e.Stop()
	s, err := store.Open(e.DSN())
	if err != nil {
		b.Fatal(err)
	}
	defer s.Close()
	if err := s.Migrate(b.Context()); err != nil {
		b.Fatal(err)
	}
	var places []stream.Place
	begin := time.Now().Add(-time.Minute)
	for i := range bays {
		place := stream.Place{Studio: benchPlace.Studio, Bay: fmt.Sprintf("bay%02d", i)}
		places = append(places, place)
		for n, ev := range benchEvents(0)[:2] {
			ev.Bay, ev.Id, ev.EffectiveUnixNs = place.Bay, fmt.Sprint("e", n), begin.Add(time.Duration(n)).UnixNano()
			ev.RecordedUnixNs = ev.EffectiveUnixNs
			data, err := proto.Marshal(ev)
			if err != nil {
				b.Fatal(err)
			}
			if _, err := l.js.Publish(b.Context(), place.VisitsSubject(), data); err != nil {
				b.Fatal(err)
			}
		}
	}
	var mu sync.Mutex
	hit := map[string]time.Time{} // that the bay's next state shows
	sub, err := l.nc.Subscribe("live.>", func(m *nats.Msg) {
		mu.Lock()
		defer mu.Unlock()
		if at, ok := hit[m.Subject]; ok {
			f.shown = append(f.shown, time.Since(at).Seconds())
			delete(hit, m.Subject)
		}
	})
	if err != nil {
		b.Fatal(err)
	}
	defer sub.Unsubscribe()
	ctx, cancel := context.WithCancel(b.Context())
	ended := make(chan error, 1)
	go func() {
		ended <- Run(ctx, Options{Owner: "bench", Conn: l.nc, JS: l.js, Store: s, Bays: places, Registry: prometheus.NewRegistry(), pace: p})
	}()
	count := func(question string) (n uint64) {
		if err := s.Conn().QueryRow(b.Context(), question).Scan(&n); err != nil {
			b.Fatal(err)
		}
		return n
	}
	proof.Until(b, "every bay's events are stored", func() bool { return count("SELECT uniqExact(bay) FROM visit_events") == bays })
	from, begun := usedBy(b, e.Pid()), time.Now()
	for i := range perSecond * seconds {
		proof.Pause(b, time.Until(begun.Add(time.Duration(i)*time.Second/perSecond)))
		place := places[i%bays]
		shot := benchEntry(i + 1)
		shot.Bay, shot.Journal, shot.Seq = place.Bay, fmt.Sprintf("%016x", i%bays+1), uint64(i/bays+1)
		id := event.ShotIDFor(place.Bay, fmt.Sprint(i))
		now := time.Now()
		shot.ShotId, shot.EffectiveUnixNs, shot.ReceivedUnixNs = id[:], now.UnixNano(), now.UnixNano()
		mu.Lock()
		hit[place.LiveSubject("state")] = now
		mu.Unlock()
		if _, err := l.js.Publish(b.Context(), place.ShotsSubject(), marshal(b, shot)); err != nil {
			b.Fatal(err)
		}
	}
	proof.Until(b, "every shot is stored", func() bool { return count("SELECT uniqExact(shot_id) FROM entries") == perSecond*seconds })
	to := usedBy(b, e.Pid())
	f.written, f.shots = float64(to.written-from.written), perSecond*seconds
	f.busy, f.seconds = (to.busy - from.busy).Seconds(), time.Since(begun).Seconds()
	cancel()
	if err := <-ended; err != nil {
		b.Fatal(err)
	}
	return f
}
