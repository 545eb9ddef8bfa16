package gap

import (
	"context"
	"fmt"
	"log/slog"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/prometheus/client_golang/prometheus"
	dto "github.com/prometheus/client_model/go"
	"go.uber.org/goleak"
	"google.golang.org/protobuf/proto"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/stream"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

var north = stream.Place{Studio: "harbour-row", Bay: "north"}

// watched is a watch over a store made of ranges, a bay that notes what it is
// asked for, and a clock that the test moves.
type watched struct {
	t     *testing.T
	watch *Watch
	reg   *prometheus.Registry
	nc    *nats.Conn

	mu     sync.Mutex
	now    time.Time
	stored Ranges
	floor  uint64
	above  []uint64 // of each count
	asked  []Ranges
	refuse string
}

func (w *watched) Stored(_ context.Context, _ stream.Place, _ string, above uint64) (Ranges, error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.above = append(w.above, above)
	return higher(w.stored, above), nil
}

// higher is what of stored lies above a seq.
func higher(stored Ranges, above uint64) (out Ranges) {
	for _, r := range stored {
		if r.To > above {
			out.Add(max(r.From, above+1), r.To)
		}
	}
	return out
}

func (w *watched) Floor(context.Context, stream.Place, string) (uint64, error) { return w.floor, nil }

func newWatched(t *testing.T) *watched {
	t.Helper()
	w := &watched{t: t, reg: prometheus.NewRegistry(), now: time.Date(2026, 5, 4, 9, 0, 0, 0, time.UTC)}
	b, err := stream.StartBroker(stream.BrokerOptions{Listen: "127.0.0.1:0", DataDir: t.TempDir()})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(b.Stop)
	if w.nc, _, err = stream.Connect(stream.Link{URL: b.URL(), Name: "test"}); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(w.nc.Close)
	clock := func() time.Time { w.mu.Lock(); defer w.mu.Unlock(); return w.now }
	if w.watch, err = New(w, w.nc, slog.New(slog.DiscardHandler), clock, w.reg); err != nil {
		t.Fatal(err)
	}
	_, err = w.nc.Subscribe(north.RepairSubject(), func(m *nats.Msg) {
		r := &event.RepairRequest{}
		if err := proto.Unmarshal(m.Data, r); err != nil {
			t.Error(err)
		}
		var ranges Ranges
		for _, x := range r.Ranges {
			ranges.Add(x.From, x.To)
		}
		w.mu.Lock()
		w.asked = append(w.asked, ranges)
		reply := &event.RepairReply{Sent: ranges.Count(), Error: w.refuse}
		w.mu.Unlock()
		data, _ := proto.Marshal(reply)
		m.Respond(data)
	})
	if err != nil {
		t.Fatal(err)
	}
	if err := w.nc.Flush(); err != nil {
		t.Fatal(err)
	}
	return w
}

// beat is a heartbeat after a while: the journal holds first to last.
func (w *watched) beat(after time.Duration, first, last uint64, quarantined ...*event.Range) {
	w.t.Helper()
	w.mu.Lock()
	w.now = w.now.Add(after)
	w.mu.Unlock()
	h := &event.Heartbeat{Journals: []*event.JournalState{{Journal: "j", First: first, Last: last, Active: true, Quarantined: quarantined}}}
	if _, err := w.watch.Check(w.t.Context(), north, h); err != nil {
		w.t.Fatal(err)
	}
}

func (w *watched) store(from, to uint64) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.stored.Add(from, to)
}

// requests are the repairs asked for since it was last called.
func (w *watched) requests(want ...Ranges) {
	w.t.Helper()
	w.mu.Lock()
	defer w.mu.Unlock()
	if len(w.asked) != len(want) || !slices.EqualFunc(w.asked, want, func(a, b Ranges) bool { return slices.Equal(a, b) }) {
		w.t.Errorf("asked for %v, want %v", w.asked, want)
	}
	w.asked = nil
}

func (w *watched) metric(name string) (v float64) {
	families, err := w.reg.Gather()
	if err != nil {
		w.t.Fatal(err)
	}
	i := slices.IndexFunc(families, func(f *dto.MetricFamily) bool { return f.GetName() == name })
	if i < 0 {
		return 0
	}
	for _, m := range families[i].Metric {
		v += m.GetCounter().GetValue() + m.GetGauge().GetValue()
	}
	return v
}

const beat = 10 * time.Second

func TestAHoleIsAskedForAfterTheGrace(t *testing.T) {
	w := newWatched(t)
	w.store(1, 4)
	w.store(7, 10)
	w.beat(0, 1, 10)
	w.requests()
	if open := w.metric("fairlead_gap_open_entries"); open != 2 {
		t.Errorf("%v open, want 2", open)
	}
	w.store(11, 20)
	w.beat(grace-time.Second, 1, 20)
	w.requests()
	w.beat(time.Second, 1, 20)
	w.requests(Ranges{{5, 6}})
	w.store(5, 6)
	w.beat(beat, 1, 20)
	w.requests()
	if healed, open := w.metric("fairlead_gap_healed_entries_total"), w.metric("fairlead_gap_open_entries"); healed != 2 || open != 0 {
		t.Errorf("%v healed, %v open", healed, open)
	}
}

// What is on its way is not asked for: above the highest stored, while that rises.
func TestABacklogOnItsWayIsNotAskedFor(t *testing.T) {
	w := newWatched(t)
	w.beat(0, 1, 100000)
	for i := range uint64(5) {
		w.store(1+i*1000, 1000+i*1000)
		w.beat(beat, 1, 100000)
		w.requests()
	}
	// A hole in the middle of it is, and only the hole.
	w.store(5011, 6000)
	w.beat(beat, 1, 100000)
	w.requests(Ranges{{5001, 5010}})
	w.store(5001, 5010)
	// It stops coming: all of the rest is.
	w.beat(beat, 1, 100000)
	w.requests(Ranges{{6001, 100000}})
}

func TestWhatARepairCannotMendIsAskedForLessAndLess(t *testing.T) {
	w := newWatched(t)
	w.store(1, 4)
	w.store(6, 10)
	last := uint64(10)
	asked := 0
	for range 360 { // an hour of heartbeats, with shots that arrive meanwhile
		w.beat(beat, 1, last+5)
		last += 5
		w.store(last-4, last)
		w.mu.Lock()
		asked += len(w.asked)
		w.asked = nil
		w.mu.Unlock()
	}
	if asked < 8 || asked > 15 {
		t.Errorf("asked %d times within an hour", asked)
	}
	// A little of it heals: the rest is asked for at once again.
	w.mu.Lock()
	w.stored.Remove(20, 40)
	w.mu.Unlock()
	w.store(5, 5)
	for range 2 {
		w.beat(2*longestPause, 1, last)
	}
	w.requests(Ranges{{20, 40}}, Ranges{{20, 40}})
	w.store(20, 30)
	w.beat(beat, 1, last)
	w.requests(Ranges{{31, 40}})
}

// A bay that can't do it now is asked again soon.
func TestARefusedRepairIsAskedAgainSoon(t *testing.T) {
	w := newWatched(t)
	w.refuse = "no response from stream"
	w.store(1, 1)
	w.store(3, 3)
	w.beat(0, 1, 3)
	for range 8 {
		w.beat(beat, 1, 3)
		w.requests(Ranges{{2, 2}})
	}
	if refused := w.metric("fairlead_gap_repairs_failed_total"); refused != 8 {
		t.Errorf("%v refused, want 8", refused)
	}
	if vain := w.metric("fairlead_gap_asks_in_vain"); vain != 8 {
		t.Errorf("asked %v times in vain, want 8", vain)
	}
	w.refuse = ""
	w.store(4, 9) // others come, and it does not
	w.beat(beat, 1, 9)
	if vain := w.metric("fairlead_gap_asks_in_vain"); vain != 9 {
		t.Errorf("asked %v times in vain, want 9", vain)
	}
	w.store(2, 2)
	w.beat(beat, 1, 9)
	if vain := w.metric("fairlead_gap_asks_in_vain"); vain != 0 {
		t.Errorf("healed, and asked %v times in vain", vain)
	}
}

func TestFloorsAndQuarantine(t *testing.T) {
	w := newWatched(t)
	w.store(51, 60)
	w.floor = 51 // given up by hand below
	w.beat(0, 1, 64, &event.Range{From: 61, To: 62})
	w.beat(beat, 1, 64, &event.Range{From: 61, To: 62})
	w.requests(Ranges{{63, 64}})
	// What the journal itself trimmed is not waited for either.
	w.store(63, 64)
	w.floor = 0
	w.beat(beat, 51, 64, &event.Range{From: 61, To: 62})
	w.requests()
	if open := w.metric("fairlead_gap_open_entries"); open != 0 {
		t.Errorf("%v open", open)
	}
}

// Old rows are counted again after a while: what a disk lost is found.
func TestOldRowsAreCountedAgain(t *testing.T) {
	w := newWatched(t)
	w.store(1, 50000)
	w.beat(0, 1, 50000)
	w.mu.Lock()
	w.stored.Remove(100, 120) // a part is damaged
	w.mu.Unlock()
	w.beat(beat, 1, 50000)
	w.requests()
	if w.above[1] != 50001-newest {
		t.Errorf("counted above %d, want only the newest", w.above[1])
	}
	w.beat(recount, 1, 50000)
	w.beat(beat, 1, 50000)
	w.requests(Ranges{{100, 120}})
}

func TestManyHolesAreAskedForInParts(t *testing.T) {
	w := newWatched(t)
	for i := uint64(0); i < 2*maxAsked; i++ {
		w.store(2*i+2, 2*i+2)
	}
	w.beat(0, 1, 4*maxAsked)
	w.beat(beat, 1, 4*maxAsked)
	w.mu.Lock()
	defer w.mu.Unlock()
	if len(w.asked) != 1 || len(w.asked[0]) != maxAsked {
		t.Errorf("%d requests, the first of %d ranges", len(w.asked), len(w.asked[0]))
	}
}

func TestMarksSayWhatTheRowsSaid(t *testing.T) {
	w := newWatched(t)
	sub, err := w.watch.ServeMarks()
	if err != nil {
		t.Fatal(err)
	}
	defer sub.Unsubscribe()
	ask := func() *event.MarksReply {
		t.Helper()
		data, _ := proto.Marshal(&event.MarksRequest{Journals: []string{"j", "unknown"}})
		m, err := w.nc.Request(north.MarksSubject(), data, 5*time.Second)
		if err != nil {
			t.Fatal(err)
		}
		reply := &event.MarksReply{}
		if err := proto.Unmarshal(m.Data, reply); err != nil {
			t.Fatal(err)
		}
		return reply
	}
	if got := ask(); len(got.Marks) != 0 {
		t.Errorf("nothing was counted yet, and the marks say %v", got)
	}
	w.store(1, 6)
	w.store(9, 12)
	w.beat(0, 1, 12)
	if got := fmt.Sprint(ask().Marks[0].StoredBelow, ask().Marks[0].Highest, len(ask().Marks)); got != "7 12 1" {
		t.Errorf("marks %s, want 7 12 1", got)
	}
}
