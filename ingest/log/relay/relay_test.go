package relay

import (
	"context"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"
	"github.com/prometheus/client_golang/prometheus"
	"go.uber.org/goleak"
	"google.golang.org/protobuf/proto"

	"fairlead/deploy/proof"
	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/journal"
	"fairlead/ingest/log/stream"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

var north = stream.Place{Studio: "harbour-row", Bay: "north"}

// line is a journal, a broker and a connection between them.
type line struct {
	t       *testing.T
	dir     string
	journal *journal.Journal
	nc      *nats.Conn
	js      jetstream.JetStream
}

func newLine(t *testing.T) *line {
	t.Helper()
	l := &line{t: t, dir: t.TempDir()}
	b, err := stream.StartBroker(stream.BrokerOptions{Listen: "127.0.0.1:0", DataDir: filepath.Join(l.dir, "broker")})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(b.Stop)
	if l.nc, l.js, err = stream.Connect(stream.Link{URL: b.URL(), Name: "test"}); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(l.nc.Close)
	if err := stream.Declare(t.Context(), l.js, stream.DefaultLayout()); err != nil {
		t.Fatal(err)
	}
	l.journal = l.open("journal")
	return l
}

func (l *line) open(name string) *journal.Journal {
	l.t.Helper()
	j, _, err := journal.Open(journal.Options{Dir: filepath.Join(l.dir, name), Studio: north.Studio, Bay: north.Bay, Machine: "m"})
	if err != nil {
		l.t.Fatal(err)
	}
	l.t.Cleanup(func() { j.Close() })
	return j
}

func record(t *testing.T, j *journal.Journal, from, to int) {
	t.Helper()
	for i := from; i <= to; i++ {
		id := event.ShotIDFor("willow", fmt.Sprint(i))
		data, err := proto.Marshal(&event.Entry{Contract: event.Contract, Studio: north.Studio, Bay: north.Bay, ShotId: id[:],
			DeviceShotId: fmt.Sprint(i)})
		if err != nil {
			t.Fatal(err)
		}
		if _, err := j.Append(t.Context(), journal.Record{Payload: data}); err != nil {
			t.Fatal(err)
		}
	}
}

func metrics() Metrics {
	c := func() prometheus.Counter { return prometheus.NewCounter(prometheus.CounterOpts{Name: "n"}) }
	return Metrics{Published: c(), Errors: c(), Repaired: c()}
}

// carry runs a publisher until the log holds n messages.
func (l *line) carry(j *journal.Journal, n uint64) *Publisher {
	l.t.Helper()
	p := NewPublisher(j, l.js, Entries(north), l.dir, metrics())
	ctx, cancel := context.WithCancel(l.t.Context())
	done := make(chan struct{})
	go func() { p.Run(ctx); close(done) }()
	l.until(fmt.Sprintf("%d messages in the log", n), func() bool { return l.held() >= n })
	l.until("nothing is unsent", func() bool { left, _ := p.Unsent(time.Now()); return left == 0 })
	cancel()
	<-done
	return p
}

func (l *line) held() uint64 {
	s, err := l.js.Stream(l.t.Context(), stream.Shots)
	if err != nil {
		l.t.Fatal(err)
	}
	return s.CachedInfo().State.Msgs
}

func (l *line) until(what string, ok func() bool) {
	l.t.Helper()
	proof.Until(l.t, what, ok)
}

// entry reads a message of the log.
func (l *line) entry(seq uint64) *event.Entry {
	l.t.Helper()
	s, err := l.js.Stream(l.t.Context(), stream.Shots)
	if err != nil {
		l.t.Fatal(err)
	}
	m, err := s.GetMsg(l.t.Context(), seq)
	if err != nil {
		l.t.Fatal(err)
	}
	e := &event.Entry{}
	if err := proto.Unmarshal(m.Data, e); err != nil {
		l.t.Fatal(err)
	}
	return e
}

func TestEntriesGoInOrderUnderTheirNumbers(t *testing.T) {
	l := newLine(t)
	record(t, l.journal, 1, 600) // more than two batches
	l.carry(l.journal, 600)
	for _, seq := range []uint64{1, 256, 257, 512, 600} {
		if e := l.entry(seq); e.Seq != seq || e.Journal != l.journal.ID() || e.DeviceShotId != fmt.Sprint(seq) {
			t.Errorf("message %d holds %v", seq, e)
		}
	}
}

// A publisher goes on where the last one was; a hint that is torn, missing or
// from another life costs repeats, which the broker swallows, and no entry.
func TestWhatIsRememberedCostsRepeatsAtMost(t *testing.T) {
	l := newLine(t)
	hint := filepath.Join(l.dir, "published.json")
	record(t, l.journal, 1, 20)
	l.carry(l.journal, 20)
	n := 20
	for name, text := range map[string]string{
		"whole": "", "torn": `{"`, "empty": " ", "null": "null", "other": `{"00000000000000aa": 7}`,
		"ahead": fmt.Sprintf(`{%q: 9000}`, l.journal.ID()),
	} {
		if text != "" {
			if err := os.WriteFile(hint, []byte(text), 0o600); err != nil {
				t.Fatal(err)
			}
		}
		record(t, l.journal, n+1, n+10)
		n += 10
		if name == "ahead" {
			// A disk set back: its numbers are used up until the hub says so.
			p := NewPublisher(l.journal, l.js, Entries(north), l.dir, metrics())
			if id, from := p.next(); id != l.journal.ID() || from != uint64(n)+1 {
				t.Errorf("%s: begins at %s/%d", name, id, from)
			}
			os.Remove(hint)
		}
		l.carry(l.journal, uint64(n))
		if held := l.held(); held != uint64(n) {
			t.Errorf("%s: %d messages, want %d", name, held, n)
		}
	}
}

// Two records under one number both reach the log.
func TestTwoRecordsOfOneNumberAreTwoMessages(t *testing.T) {
	f := Entries(north)
	a := f.message(journal.Entry{Journal: "j", Seq: 5, Payload: []byte("one")}, "")
	b := f.message(journal.Entry{Journal: "j", Seq: 5, Payload: []byte("other")}, "")
	again := f.message(journal.Entry{Journal: "j", Seq: 5, Payload: []byte("one")}, "")
	fresh := f.message(journal.Entry{Journal: "j", Seq: 5, Payload: []byte("one")}, "-n1")
	if a.ID == b.ID || a.ID != again.ID || a.ID == fresh.ID {
		t.Errorf("ids %s, %s, %s, %s", a.ID, b.ID, again.ID, fresh.ID)
	}
}

func TestEventsGoToTheirOwnBays(t *testing.T) {
	f := Events()
	data, err := proto.Marshal(&event.VisitEvent{Studio: "harbour-row", Bay: "quay", Id: "e"})
	if err != nil {
		t.Fatal(err)
	}
	m := f.message(journal.Entry{Journal: "j", Seq: 9, Payload: data}, "")
	ev := &event.VisitEvent{}
	if err := proto.Unmarshal(m.Data, ev); err != nil || m.Subject != "visits.harbour-row.quay" || ev.Journal != "j" || ev.Seq != 9 {
		t.Errorf("%s: %v, %v", m.Subject, ev, err)
	}
	if m := f.message(journal.Entry{Journal: "j", Seq: 9, Payload: []byte("\xff")}, ""); m.Subject != "visits.unreadable.unreadable" {
		t.Errorf("an unreadable event goes to %s", m.Subject)
	}
}

// A mark lets old entries leave the journal; one beyond its end says that the
// disk was set back.
func TestMarks(t *testing.T) {
	l := newLine(t)
	record(t, l.journal, 1, 10)
	id := l.journal.ID()
	mark := &event.Mark{Journal: id, StoredBelow: 11, Highest: 10}
	sub, err := l.nc.Subscribe(north.MarksSubject(), func(m *nats.Msg) {
		data, _ := proto.Marshal(&event.MarksReply{Marks: []*event.Mark{mark}})
		m.Respond(data)
	})
	if err != nil {
		t.Fatal(err)
	}
	log := slog.New(slog.DiscardHandler)
	follow := func() {
		t.Helper()
		if err := FollowMarks(t.Context(), l.nc, north, l.journal, time.Now().Add(-time.Hour), log); err != nil {
			t.Fatal(err)
		}
	}
	follow()
	if l.journal.ID() != id || l.journal.Last() != 10 {
		t.Errorf("after a mark of what is there: %s/%d", l.journal.ID(), l.journal.Last())
	}
	mark.Highest = 12
	follow()
	if l.journal.ID() == id {
		t.Error("the store holds more than this disk, and no new journal began")
	}
	sub.Unsubscribe()
	ctx, cancel := context.WithTimeout(t.Context(), 300*time.Millisecond)
	defer cancel()
	if err := FollowMarks(ctx, l.nc, north, l.journal, time.Now(), log); err == nil {
		t.Error("no hub, and no error")
	}
}

// A repair is bounded, so that live shots are not starved: the rest is asked for again.
func TestARepairIsBounded(t *testing.T) {
	l := newLine(t)
	var records []journal.Record
	for i := range maxRepair + 300 {
		records = append(records, journal.Record{Payload: fmt.Appendf(nil, "\x3a\x05%05d", i%100000)}) // device: five digits
		if len(records) == 500 {
			if _, err := l.journal.Append(t.Context(), records...); err != nil {
				t.Fatal(err)
			}
			records = nil
		}
	}
	if _, err := l.journal.Append(t.Context(), records...); err != nil {
		t.Fatal(err)
	}
	r := NewRepairer(l.journal, l.js, Entries(north), metrics(), slog.New(slog.DiscardHandler))
	reply := r.repair(t.Context(), &event.RepairRequest{Journal: l.journal.ID(), Nonce: "n",
		Ranges: []*event.Range{{From: 1, To: 100}, {From: 101, To: maxRepair + 300}}})
	if reply.Sent != maxRepair || reply.Error != "" || len(reply.Gone) != 0 {
		t.Errorf("sent %d, gone %v, %s", reply.Sent, reply.Gone, reply.Error)
	}
	if held := l.held(); held != maxRepair {
		t.Errorf("%d messages in the log", held)
	}
}
