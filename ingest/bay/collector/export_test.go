package collector

import (
	"log/slog"
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus"

	"fairlead/ingest/bay/feed"
	"fairlead/ingest/contract/event"
)

// exporter plays a device whose files are read into an intake without a disk.
type exporter struct {
	t   *testing.T
	in  *intake
	hub int64
}

func newExporter(t *testing.T) *exporter {
	m, err := newMetrics(prometheus.NewRegistry())
	if err != nil {
		t.Fatal(err)
	}
	return &exporter{t, &intake{feeds: map[string]*feedState{}, metrics: m, log: slog.New(slog.DiscardHandler),
		clock: &clock{}}, 1_700_000_000_000_000_000}
}

// file says at which hub times the shots of a file were hit, by the collector.
func (x *exporter) file(b feed.Batch, at time.Duration, device ...time.Duration) (out []timing) {
	m := moment{wall: x.hub + int64(at), mono: time.Hour + at, ahead: x.hub - int64(time.Hour), synced: true}
	for _, d := range device {
		e := &event.Entry{}
		if d >= 0 {
			e.DeviceUnixNs = x.hub + int64(d)
		}
		b.Drafts = append(b.Drafts, feed.Draft{Entry: e})
	}
	x.in.exported("f", &b, m)
	f := x.in.feed("f")
	for _, d := range b.Drafts {
		out = append(out, f.time(d.Entry.DeviceUnixNs, x.in.after(f, &b, m), m))
	}
	return out
}

func (x *exporter) off(t timing, truth time.Duration) time.Duration {
	return time.Duration(t.effective - x.hub - int64(truth))
}

// TestASlowClockInAFolder: files of one shot, by a clock that is seven minutes
// slow, are timed as lines of a growing file are, and an export after them is
// corrected by what they taught.
func TestASlowClockInAFolder(t *testing.T) {
	const slow = 7 * time.Minute
	x := newExporter(t)
	for i := range 5 {
		at := 10*time.Minute + time.Duration(i)*time.Minute
		got := x.file(feed.Batch{Seen: time.Now(), After: time.Hour + at - 40*time.Millisecond}, at, at-slow)
		if got[0].certainty != event.Certainty_CERTAINTY_SYNCED || x.off(got[0], at).Abs() > time.Second {
			t.Errorf("shot %d is %s off: %+v", i, x.off(got[0], at), got[0])
		}
	}
	for i, got := range x.file(feed.Batch{Export: true, Seen: time.Now()}, time.Hour, 30*time.Minute-slow, 40*time.Minute-slow) {
		if at := 30*time.Minute + time.Duration(i)*10*time.Minute; x.off(got, at).Abs() > 2*time.Second {
			t.Errorf("export: shot %d is %s off", i, x.off(got, at))
		}
	}
}

// TestTheClockOfExports: of sessions that are written at their end.
func TestTheClockOfExports(t *testing.T) {
	export := feed.Batch{Export: true, Seen: time.Now()}
	// A right clock, and somebody who ends sessions when they please.
	x := newExporter(t)
	for i, delay := range []time.Duration{20 * time.Second, 3 * time.Minute, 50 * time.Second, 8 * time.Minute} {
		end := time.Duration(i+1) * time.Hour
		for k, got := range x.file(export, end+delay, end-time.Minute, end) {
			if at := end - time.Minute + time.Duration(k)*time.Minute; x.off(got, at) != 0 || got.certainty != event.Certainty_CERTAINTY_DEVICE {
				t.Errorf("session %d, shot %d: %s off, %s", i, k, x.off(got, at), got.certainty)
			}
		}
	}
	// A fast clock: no shot is later than its file.
	x = newExporter(t)
	got := x.file(export, time.Hour, 59*time.Minute+20*time.Minute, 60*time.Minute+20*time.Minute-time.Second)
	if x.off(got[1], time.Hour).Abs() > 2*time.Second || x.off(got[0], 59*time.Minute).Abs() > 2*time.Second {
		t.Errorf("a fast clock: %s and %s off", x.off(got[0], 59*time.Minute), x.off(got[1], time.Hour))
	}
	// Each file as much later than its last shot: a slow clock, or a delay; both are held to be possible.
	x = newExporter(t)
	const slow = 7 * time.Minute
	for i := range 4 {
		end := time.Duration(i+1) * time.Hour
		got := x.file(export, end, end-slow-time.Minute, end-slow)
		if i < 2 {
			continue
		}
		for k, at := range []time.Duration{end - time.Minute, end} {
			if truth := x.hub + int64(at); truth < got[k].earliest || truth > got[k].latest || truth-int64(slow) < got[k].earliest {
				t.Errorf("session %d, shot %d: from %s to %s", i, k, time.Duration(got[k].earliest-truth), time.Duration(got[k].latest-truth))
			}
		}
	}
	// Without a clock: after the file before.
	x = newExporter(t)
	x.file(export, time.Hour, -1, -1)
	for _, got := range x.file(export, 2*time.Hour, -1, -1) {
		if got.earliest != x.hub+int64(time.Hour) || got.latest != x.hub+int64(2*time.Hour) {
			t.Errorf("without a clock: %+v", got)
		}
	}
}

// TestADoubledHourLive: a line that is read at once tells which of the two hours it is.
func TestADoubledHourLive(t *testing.T) {
	var s skews
	hub := int64(1_700_000_000_000_000_000)
	if got := s.nearest(hub-int64(time.Hour), hub, hub+int64(time.Second)); got != hub {
		t.Errorf("read as %s", time.Duration(got-hub))
	}
	s.learn(hub-int64(time.Hour), hub-int64(10*time.Minute), 0)
	if got := s.nearest(hub-int64(time.Hour), hub, hub); got != hub-int64(time.Hour) {
		t.Errorf("by a slow clock read as %s", time.Duration(got-hub))
	}
}
