package collector

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"
	"github.com/prometheus/client_golang/prometheus"
	"go.uber.org/goleak"
	"google.golang.org/protobuf/proto"

	"fairlead/deploy/proof"
	"fairlead/ingest/bay/feed"
	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/stream"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

const fieldMap = `
map: 1
device: willow
role: ball
format: csv
shot_id: {columns: [id]}
fields:
  carry: {column: carry, unit: m}
  offline: {column: offline, unit: m}
`

var north = stream.Place{Studio: "harbour-row", Bay: "north"}

// bay is a collector over one growing file, and a broker that can be taken away.
type bay struct {
	t       *testing.T
	dir     string
	address string
	broker  *stream.Broker
	wall    atomic.Pointer[func() time.Time]
	fields  string // the field map
}

func newBay(t *testing.T) *bay {
	t.Helper()
	b := &bay{t: t, dir: t.TempDir(), fields: fieldMap}
	now := time.Now
	b.wall.Store(&now)
	if err := os.WriteFile(b.file(), []byte("id,carry,offline\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	b.address = "127.0.0.1:0"
	b.startBroker()
	t.Cleanup(func() { b.broker.Stop() })
	return b
}

func (b *bay) file() string { return filepath.Join(b.dir, "shots.csv") }

func (b *bay) startBroker() {
	b.t.Helper()
	var err error
	b.broker, err = stream.StartBroker(stream.BrokerOptions{Listen: b.address, DataDir: filepath.Join(b.dir, "broker")})
	if err != nil {
		b.t.Fatal(err)
	}
	b.address = b.broker.URL()[len("nats://"):]
	nc, js := b.connect()
	defer nc.Close()
	if err := stream.Declare(b.t.Context(), js, stream.DefaultLayout()); err != nil {
		b.t.Fatal(err)
	}
}

func (b *bay) connect() (*nats.Conn, jetstream.JetStream) {
	b.t.Helper()
	nc, js, err := stream.Connect(stream.Link{URL: b.broker.URL(), Name: "test"})
	if err != nil {
		b.t.Fatal(err)
	}
	return nc, js
}

// collect runs the collector with its journal in a folder, until the returned
// function is called or the test ends.
func (b *bay) collect(journal, machine string) (stop func()) {
	b.t.Helper()
	m, err := feed.ParseMap("willow.yaml", []byte(b.fields))
	if err != nil {
		b.t.Fatal(err)
	}
	tail, err := feed.NewTail(feed.TailConfig{Map: m, Path: b.file()})
	if err != nil {
		b.t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() {
		done <- Run(ctx, Options{
			Place: north, JournalDir: filepath.Join(b.dir, journal), Machine: machine, Feeds: []Feed{{Name: "ball", Source: tail}},
			Link: stream.Link{URL: b.broker.URL(), Name: "north"}, Retention: time.Hour, Registry: prometheus.NewRegistry(),
			Wall: func() time.Time { return (*b.wall.Load())() },
		})
	}()
	stop = sync.OnceFunc(func() {
		cancel()
		if err := <-done; err != nil {
			b.t.Errorf("the collector failed: %v", err)
		}
	})
	b.t.Cleanup(stop)
	return stop
}

func (b *bay) write(from, to int) {
	b.t.Helper()
	f, err := os.OpenFile(b.file(), os.O_APPEND|os.O_WRONLY, 0)
	if err != nil {
		b.t.Fatal(err)
	}
	defer f.Close()
	for i := from; i <= to; i++ {
		fmt.Fprintf(f, "%d,%d.5,%d\n", i, 140+i%20, i%7-3)
	}
}

// entries waits until the log holds n entries and returns them in its order.
func (b *bay) entries(n int) (out []*event.Entry) {
	b.t.Helper()
	b.eachInLog(func() (string, bool) { return fmt.Sprintf("%d of %d entries in the log", len(out), n), len(out) == n },
		func(e *event.Entry) { out = append(out, e) })
	return out
}

// eachInLog gives every entry of the log, in its order, until it is done.
func (b *bay) eachInLog(done func() (sofar string, is bool), give func(*event.Entry)) {
	b.t.Helper()
	nc, js := b.connect()
	defer nc.Close()
	ctx, cancel := context.WithTimeout(b.t.Context(), time.Minute)
	defer cancel()
	c, err := js.OrderedConsumer(ctx, stream.Shots, jetstream.OrderedConsumerConfig{FilterSubjects: []string{north.ShotsSubject()}})
	if err != nil {
		b.t.Fatal(err)
	}
	it, err := c.Messages()
	if err != nil {
		b.t.Fatal(err)
	}
	defer it.Stop()
	defer context.AfterFunc(ctx, it.Stop)()
	for {
		sofar, is := done()
		if is {
			return
		}
		m, err := it.Next()
		if err != nil {
			b.t.Fatalf("%s: %v", sofar, err)
		}
		e := &event.Entry{}
		if err := proto.Unmarshal(m.Data(), e); err != nil {
			b.t.Fatal(err)
		}
		give(e)
	}
}

func ids(entries []*event.Entry) (out []event.ShotID) {
	for _, e := range entries {
		out = append(out, e.ID())
	}
	return out
}

func TestLinesReachTheLogInOrderAndBrokersComeBack(t *testing.T) {
	b := newBay(t)
	stop := b.collect("journal", "m1")
	b.write(1, 20)
	got := b.entries(20)
	for i, e := range got {
		if e.Seq != uint64(i+1) || e.Journal == "" || e.Studio != north.Studio || e.Bay != north.Bay || e.DeviceShotId != fmt.Sprint(i+1) {
			t.Fatalf("entry %d: %v", i, e)
		}
	}
	// The broker goes away; the device goes on; the collector dies and comes back.
	b.broker.Stop()
	b.write(21, 40)
	stop()
	b.write(41, 60)
	b.collect("journal", "m1")
	b.startBroker()
	got = b.entries(60)
	seen := map[event.ShotID]bool{}
	for _, id := range ids(got) {
		seen[id] = true
	}
	if len(seen) != 60 {
		t.Errorf("%d of 60 shots in the log", len(seen))
	}
}

func TestAFileReadIntoANewJournalKeepsItsIDs(t *testing.T) {
	b := newBay(t)
	stop := b.collect("journal", "m1")
	b.write(1, 30)
	first := b.entries(30)
	stop()
	b.collect("other", "m1") // the journal's disk died: all is read again
	both := b.entries(60)
	if !slices.Equal(ids(first), ids(both[30:])) {
		t.Error("the same lines got other ids")
	}
	if both[0].Journal == both[30].Journal {
		t.Error("a new journal has the old one's id")
	}
}

func TestAClonedDiskBeginsAJournalOfItsOwn(t *testing.T) {
	b := newBay(t)
	stop := b.collect("journal", "m1")
	b.write(1, 10)
	first := b.entries(10)
	stop()
	b.write(11, 15)
	b.collect("journal", "m2") // the same disk in another machine
	all := b.entries(15)
	if all[10].Journal == first[0].Journal || all[10].Seq != 1 {
		t.Errorf("after %s/%d comes %s/%d", first[9].Journal, first[9].Seq, all[10].Journal, all[10].Seq)
	}
}

func TestRepairSendsAgainUnderFreshIDs(t *testing.T) {
	b := newBay(t)
	b.collect("journal", "m1")
	b.write(1, 10)
	first := b.entries(10)
	nc, _ := b.connect()
	defer nc.Close()
	ask := func(r *event.RepairRequest) *event.RepairReply {
		t.Helper()
		data, err := proto.Marshal(r)
		if err != nil {
			t.Fatal(err)
		}
		m, err := nc.Request(north.RepairSubject(), data, 5*time.Second)
		if err != nil {
			t.Fatal(err)
		}
		reply := &event.RepairReply{}
		if err := proto.Unmarshal(m.Data, reply); err != nil {
			t.Fatal(err)
		}
		return reply
	}
	reply := ask(&event.RepairRequest{Journal: first[0].Journal, Nonce: "n1", Ranges: []*event.Range{{From: 3, To: 4}, {From: 9, To: 12}}})
	if reply.Sent != 4 || reply.Error != "" || len(reply.Gone) != 1 || reply.Gone[0].From != 11 || reply.Gone[0].To != 12 {
		t.Errorf("reply %v", reply)
	}
	again := b.entries(14)[10:]
	for i, seq := range []uint64{3, 4, 9, 10} {
		if again[i].Seq != seq || !proto.Equal(again[i], first[seq-1]) {
			t.Errorf("sent again: %v, want seq %d", again[i], seq)
		}
	}
	if reply := ask(&event.RepairRequest{Journal: "00000000deadbeef", Nonce: "n2",
		Ranges: []*event.Range{{From: 1, To: 2}}}); reply.Error == "" || reply.Sent != 0 {
		t.Errorf("unknown journal: %v", reply)
	}
}

// The hub holds more of a journal than the disk: the disk was restored.
func TestAHigherMarkAtTheHubBeginsANewJournal(t *testing.T) {
	b := newBay(t)
	nc, _ := b.connect()
	defer nc.Close()
	var high atomic.Uint64
	if _, err := nc.Subscribe(north.MarksSubject(), func(m *nats.Msg) {
		var r event.MarksRequest
		if proto.Unmarshal(m.Data, &r) != nil {
			return
		}
		reply := &event.MarksReply{}
		for _, id := range r.Journals {
			reply.Marks = append(reply.Marks, &event.Mark{Journal: id, StoredBelow: 1, Highest: high.Load()})
		}
		data, _ := proto.Marshal(reply)
		m.Respond(data)
	}); err != nil {
		t.Fatal(err)
	}
	stop := b.collect("journal", "m1")
	b.write(1, 5)
	first := b.entries(5)
	stop()
	high.Store(80)
	b.collect("journal", "m1")
	for deadline := time.Now().Add(20 * time.Second); ; {
		m, err := nc.Request(north.AskSubject(), nil, time.Second)
		h := &event.Heartbeat{}
		if err == nil && proto.Unmarshal(m.Data, h) == nil && len(h.Journals) == 2 && h.Journals[1].Active {
			if h.Journals[0].Journal != first[0].Journal || h.Journals[0].Last != 5 {
				t.Errorf("%v", h.Journals)
			}
			break
		}
		if time.Now().After(deadline) {
			t.Fatalf("no new journal: %v %v", h, err)
		}
		proof.Pause(t, 50*time.Millisecond)
	}
	b.write(6, 8)
	if last := b.entries(8)[7]; last.Seq != 3 || last.Journal == first[0].Journal {
		t.Errorf("after the restore: %s/%d", last.Journal, last.Seq)
	}
}

// A bay's wall clock an hour off that steps back: effective times are the hub's.
func TestEffectiveTimeDoesNotFollowTheBaysClock(t *testing.T) {
	b := newBay(t)
	hub, _ := b.connect()
	defer hub.Close()
	wrong := func(by time.Duration) *func() time.Time {
		f := func() time.Time { return time.Now().Add(by) }
		return &f
	}
	b.wall.Store(wrong(time.Hour))
	b.collect("journal", "m1")
	b.write(1, 1)
	if e := b.entries(1)[0]; e.Certainty != event.Certainty_CERTAINTY_UNSURE {
		t.Errorf("before any contact the time is %s", e.Certainty)
	}
	if _, err := stream.ServeClock(hub, time.Now, "e1"); err != nil {
		t.Fatal(err)
	}
	n := 1
	for deadline := time.Now().Add(20 * time.Second); ; { // until the exchange was made
		n++
		b.write(n, n)
		if b.entries(n)[n-1].Certainty == event.Certainty_CERTAINTY_SYNCED {
			break
		}
		if time.Now().After(deadline) {
			t.Fatal("never synced")
		}
		proof.Pause(t, 100*time.Millisecond)
	}
	b.wall.Store(wrong(-time.Hour))
	b.write(n+1, n+5)
	all := b.entries(n + 5)
	for i := n; i < n+5; i++ {
		e := all[i]
		if off := time.Since(time.Unix(0, e.EffectiveUnixNs)); off < 0 || off > 20*time.Second {
			t.Errorf("effective time is %s off", off)
		}
		if e.EffectiveUnixNs < all[i-1].EffectiveUnixNs && all[i-1].Certainty == event.Certainty_CERTAINTY_SYNCED {
			t.Error("effective time went back with the wall clock")
		}
		if time.Until(time.Unix(0, e.ReceivedUnixNs)) > -50*time.Minute {
			t.Errorf("received %s is not the bay's wall clock", time.Unix(0, e.ReceivedUnixNs))
		}
	}
}

func TestBacklogTakesTheDevicesClock(t *testing.T) {
	var s skews
	if at := s.hub(500); s.learned() || at != 500 {
		t.Errorf("before any live line: %d", at)
	}
	for _, delay := range []int64{30, 12, 90} { // device clock 1000 behind
		s.learn(7000, 8000+delay, 0)
	}
	if at := s.hub(9000); at != 10012 {
		t.Errorf("hub time %d, want the device's plus the least difference seen", at)
	}
}

// A device whose clock is an hour off writes on while the collector is away.
// The collector that comes back knows from the journal how far it is off.
func TestLinesOfADowntimeGetTheirTime(t *testing.T) {
	b := newBay(t)
	b.fields += "time: {column: at, layout: unix_ms}\n"
	if err := os.WriteFile(b.file(), []byte("id,carry,offline,at\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	n := 0
	write := func() (hit time.Time) {
		f, err := os.OpenFile(b.file(), os.O_APPEND|os.O_WRONLY, 0)
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		n++
		hit = time.Now()
		fmt.Fprintf(f, "%d,140.5,%d,%d\n", n, n%7, hit.Add(-time.Hour).UnixMilli())
		return hit
	}
	hub, _ := b.connect()
	defer hub.Close()
	if _, err := stream.ServeClock(hub, time.Now, "e1"); err != nil {
		t.Fatal(err)
	}
	stop := b.collect("journal", "m1")
	for deadline := time.Now().Add(20 * time.Second); ; proof.Pause(t, 100*time.Millisecond) {
		write()
		if b.entries(n)[n-1].Certainty == event.Certainty_CERTAINTY_SYNCED {
			break
		}
		if time.Now().After(deadline) {
			t.Fatal("no line is read live with a clock that was set against the hub")
		}
	}
	stop()
	hit := write()
	proof.Pause(t, 2*time.Second) // nobody reads
	b.collect("journal", "m1")
	e := b.entries(n)[n-1]
	if off := time.Unix(0, e.EffectiveUnixNs).Sub(hit); e.Certainty != event.Certainty_CERTAINTY_DEVICE || off < -time.Second ||
		off > time.Second {
		t.Errorf("a line of the downtime has the time of %v after its hit (%s)", off, e.Certainty)
	}
}
