package sink

import (
	"context"
	"fmt"
	"io"
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

	"fairlead/deploy/engine/enginetest"
	"fairlead/deploy/proof"
	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/journal"
	"fairlead/ingest/log/relay"
	"fairlead/ingest/log/stream"
	"fairlead/processors/hub/store"
	"fairlead/processors/visit/shot"
	"fairlead/processors/visit/tag"
)

func TestMain(m *testing.M) {
	CollectAt(Roomy) // as a process that tags does
	goleak.VerifyTestMain(enginetest.Wrap(m))
}

var benchPlace = stream.Place{Studio: "harbour-row", Bay: "north"}

// benchEntry is an iron shot as a device with fourteen columns gives it.
func benchEntry(i int) *event.Entry {
	id := event.ShotIDFor("alder", fmt.Sprint(i))
	at := time.Date(2026, 5, 4, 9, 0, 0, 0, time.UTC).Add(time.Duration(i) * 3 * time.Second).UnixNano()
	e := &event.Entry{
		Contract: 1, Studio: benchPlace.Studio, Bay: benchPlace.Bay, ShotId: id[:], Device: "alder", DeviceShotId: fmt.Sprint(i), Feed: "ball",
		File: "shots.csv", Line: uint64(i), Raw: fmt.Appendf(nil,
			"%d;38.1;52.4;1.37;-3.9;0.8;-0.3;-1.1;24.2;17.1;0.2;6412;1.9;164.2;2.1;28.8;47.1", i),
		ReceivedUnixNs: at, EffectiveUnixNs: at, Certainty: event.Certainty_CERTAINTY_SYNCED,
	}
	for f, v := range map[event.Field]float64{1: 38.1, 2: 52.4, 3: 1.37, 4: -3.9, 5: 0.8, 6: -0.3, 7: -1.1, 8: 24.2, 10: 17.1, 11: 0.2,
		12: 6412, 13: 1.9, 16: 150.2 + float64(i%17), 18: float64(i%9) - 4, 20: 28.8, 21: 47.1} {
		e.Measures = append(e.Measures, &event.Measure{Field: f, Value: v, Provenance: event.Provenance_PROVENANCE_MEASURED})
	}
	return e
}

// benchEvents are a day of sessions with six trials each, back to back.
func benchEvents(shots int) (out []*event.VisitEvent) {
	begin := time.Date(2026, 5, 4, 8, 59, 59, 0, time.UTC)
	for i := 0; i*300 < shots+300; i++ {
		session := fmt.Sprintf("s%d", i)
		at := begin.Add(time.Duration(i*300) * 3 * time.Second)
		say := func(ev *event.VisitEvent, after time.Duration) {
			ev.Contract, ev.Studio, ev.Bay, ev.Session, ev.Visit = 1, benchPlace.Studio, benchPlace.Bay, session, "v"+session
			ev.Id = fmt.Sprintf("%s-%d", session, len(out))
			ev.EffectiveUnixNs = at.Add(after).UnixNano()
			ev.RecordedUnixNs = ev.EffectiveUnixNs
			out = append(out, ev)
		}
		say(&event.VisitEvent{Body: &event.VisitEvent_SessionOpened{SessionOpened: &event.SessionOpened{Player: "p" + session,
			Hand: event.Hand_HAND_RIGHT, Category: "iron"}}}, 0)
		for n := range 6 {
			say(&event.VisitEvent{Body: &event.VisitEvent_TrialStarted{TrialStarted: &event.TrialStarted{Trial: fmt.Sprintf("%s-t%d", session, n),
				Build: &event.Build{Name: "b", Specs: []*event.Spec{{Field: event.BuildField_BUILD_LOFT, Number: 30 + float64(n)}}}}}},
				time.Duration(n*50)*3*time.Second+time.Millisecond)
		}
	}
	return out
}

type benchLog struct {
	broker *stream.Broker
	nc     *nats.Conn
	js     jetstream.JetStream
}

func newBenchLog(b testing.TB) *benchLog {
	b.Helper()
	broker, err := stream.StartBroker(stream.BrokerOptions{Listen: "127.0.0.1:0", DataDir: b.TempDir()})
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(broker.Stop)
	nc, js, err := stream.Connect(stream.Link{URL: broker.URL(), Name: "bench"})
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(nc.Close)
	if err := stream.Declare(b.Context(), js, stream.DefaultLayout()); err != nil {
		b.Fatal(err)
	}
	return &benchLog{broker, nc, js}
}

// journalOf makes a journal with n entries.
func journalOf(b *testing.B, dir string, n int) *journal.Journal {
	b.Helper()
	j, _, err := journal.Open(journal.Options{Dir: dir, Studio: benchPlace.Studio, Bay: benchPlace.Bay, NoSync: true})
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() { j.Close() })
	var records []journal.Record
	for i := 1; i <= n; i++ {
		data, err := proto.Marshal(benchEntry(i))
		if err != nil {
			b.Fatal(err)
		}
		records = append(records, journal.Record{Payload: data})
		if len(records) == 500 || i == n {
			if _, err := j.Append(b.Context(), records...); err != nil {
				b.Fatal(err)
			}
			records = nil
		}
	}
	return j
}

func counter() prometheus.Counter { return prometheus.NewCounter(prometheus.CounterOpts{Name: "n"}) }

// publishJournal carries a journal to the log and returns how long it took.
func (l *benchLog) publishJournal(b *testing.B, j *journal.Journal, dir string, n int) time.Duration {
	b.Helper()
	published := counter()
	p := relay.NewPublisher(j, l.js, relay.Entries(benchPlace), dir,
		relay.Metrics{Published: published, Errors: counter(), Repaired: counter()})
	ctx, cancel := context.WithCancel(b.Context())
	done := make(chan struct{})
	begun := time.Now()
	go func() { p.Run(ctx); close(done) }()
	for {
		if left, _ := p.Unsent(time.Now()); left == 0 {
			break
		}
		proof.Pause(b, time.Millisecond)
	}
	took := time.Since(begun)
	cancel()
	<-done
	return took
}

// rawPublish sends the same payloads with message ids and nothing else, in
// windows of the same size.
func (l *benchLog) rawPublish(b *testing.B, payloads [][]byte, tag string) time.Duration {
	b.Helper()
	begun := time.Now()
	var acks []jetstream.PubAckFuture
	for i, data := range payloads {
		ack, err := l.js.PublishMsgAsync(&nats.Msg{Subject: benchPlace.ShotsSubject(),
			Header: nats.Header{jetstream.MsgIDHeader: {fmt.Sprint(tag, i)}}, Data: data})
		if err != nil {
			b.Fatal(err)
		}
		acks = append(acks, ack)
		if len(acks) == 256 || i == len(payloads)-1 {
			for _, a := range acks {
				<-a.Ok()
			}
			acks = acks[:0]
		}
	}
	return time.Since(begun)
}

func marshal(t testing.TB, e *event.Entry) []byte {
	t.Helper()
	data, err := proto.Marshal(e)
	if err != nil {
		t.Fatal(err)
	}
	return data
}

func payloads(b *testing.B, n int) (out [][]byte) {
	b.Helper()
	for i := 1; i <= n; i++ {
		e := benchEntry(i)
		e.Journal, e.Seq = "00000000000000aa", uint64(i)
		out = append(out, marshal(b, e))
	}
	return out
}

// speed adds up what the rounds of a benchmark took, ours and the raw part's.
type speed struct{ ours, raw time.Duration }

func (p *speed) add(ours, raw time.Duration) { p.ours += ours; p.raw += raw }

// report gives things a second and the ratio to the raw part, over all rounds.
func (p *speed) report(b *testing.B, each int, unit string) {
	b.ReportMetric(float64(each*b.N)/p.ours.Seconds(), unit)
	b.ReportMetric(p.raw.Seconds()/p.ours.Seconds(), "ratio-to-raw")
}

// BenchmarkPublish: a journal into the log, against the same messages published bare.
func BenchmarkPublish(b *testing.B) {
	const n = 20000
	var p speed
	for b.Loop() {
		l := newBenchLog(b)
		dir := b.TempDir()
		j := journalOf(b, dir, n)
		raw := l.rawPublish(b, payloads(b, n), "raw")
		ours := l.publishJournal(b, j, dir, n)
		p.add(ours, raw)
	}
	p.report(b, n, "entries/s")
}

// benchWorker is a worker with a day's events and no store.
func benchWorker(b testing.TB, s *store.Store, shots int) *Worker {
	b.Helper()
	m, err := NewMetrics(prometheus.NewRegistry())
	if err != nil {
		b.Fatal(err)
	}
	w, err := newWorker(b.Context(), benchPlace, benchPlace.Bay, s, benchEvents(shots), slog.New(slog.NewTextHandler(io.Discard, nil)), m, nil)
	if err != nil {
		b.Fatal(err)
	}
	return w
}

func benchStore(b testing.TB) *store.Store {
	b.Helper()
	s := store.New(enginetest.New(b).Open(b))
	if err := s.Migrate(b.Context()); err != nil {
		b.Fatal(err)
	}
	return s
}

// BenchmarkConsumeTag: entries from the log to tags and rows, against consuming
// and acknowledging the same messages bare. One log serves all rounds, and the
// first round of each is not counted: a worker runs for months, not from a heap
// that still has to grow.
func BenchmarkConsumeTag(b *testing.B) {
	const n, rounds = 20000, 5
	l := newBenchLog(b)
	l.rawPublish(b, payloads(b, n), "p")
	s := benchStore(b)
	consume := func(read func(ctx context.Context, c jetstream.Consumer)) time.Duration {
		c, err := consumerOf(b.Context(), l.js, benchPlace, "bench")
		if err != nil {
			b.Fatal(err)
		}
		ctx, cancel := context.WithCancel(b.Context())
		begun := time.Now()
		read(ctx, c)
		took := time.Since(begun)
		cancel()
		// The next one begins at the front again.
		s, err := l.js.Stream(b.Context(), stream.Shots)
		if err != nil {
			b.Fatal(err)
		}
		for name := range s.ConsumerNames(b.Context()).Name() {
			s.DeleteConsumer(b.Context(), name)
		}
		return took
	}
	bare := func(ctx context.Context, c jetstream.Consumer) {
		it, err := c.Messages(jetstream.PullMaxMessages(2 * maxBatch))
		if err != nil {
			b.Fatal(err)
		}
		defer it.Stop()
		for got := 1; got <= n; got++ {
			m, err := it.Next()
			if err != nil {
				b.Fatal(err)
			}
			if got%maxBatch == 0 || got == n {
				m.Ack()
			}
		}
	}
	tagging := func(w *Worker) func(ctx context.Context, c jetstream.Consumer) {
		return func(ctx context.Context, c jetstream.Consumer) {
			ctx, cancel := context.WithCancel(ctx)
			out := newInbox()
			done := make(chan struct{})
			go func() { pump(ctx, c, benchPlace, out, &tap{}); close(done) }()
			defer func() { cancel(); <-done }()
			for got := 0; got < n; {
				<-out.ready
				w.pending = out.gather(w.pending)
				if len(w.pending) == 0 {
					continue
				}
				got += len(w.pending)
				last := w.pending[len(w.pending)-1].msg
				if err := w.takeShots(b.Context(), w.pending); err != nil {
					b.Fatal(err)
				}
				clear(w.pending)
				w.pending, w.queue, w.queued = w.pending[:0], nil, 0
				last.Ack()
			}
		}
	}
	pair := func() (ours, raw time.Duration) {
		raw = consume(bare)
		return consume(tagging(benchWorker(b, s, n))), raw
	}
	pair()
	var p speed
	for b.Loop() {
		for range rounds {
			p.add(pair())
		}
	}
	p.report(b, rounds*n, "entries/s")
}

func benchRows(n int) []store.EntryRow {
	rows, in := make([]store.EntryRow, n), &tag.Situation{Session: "s", Trial: "t", Part: 1}
	for i := range rows {
		e := benchEntry(i + 1)
		e.Journal, e.Seq = "00000000000000aa", uint64(i+1)
		data, _ := proto.Marshal(e)
		values := shot.Of(e, shot.Frame{})
		rows[i] = store.EntryRow{Entry: e, Payload: data, Tag: &tag.Tag{Situation: in, Version: 1, Status: tag.Counts}, Values: &values}
	}
	return rows
}

// BenchmarkSink: rows into the store, against the same columns, built
// beforehand, inserted bare into the same table.
func BenchmarkSink(b *testing.B) {
	const n = 20000
	rows := benchRows(n)
	s := benchStore(b)
	raw, err := s.PrepareRaw(b.Context(), rows)
	if err != nil {
		b.Fatal(err)
	}
	var p speed
	for b.Loop() {
		begun := time.Now()
		if err := raw(b.Context()); err != nil {
			b.Fatal(err)
		}
		bare := time.Since(begun)
		begun = time.Now()
		if err := s.InsertEntries(b.Context(), rows); err != nil {
			b.Fatal(err)
		}
		ours := time.Since(begun)
		p.add(ours, bare)
	}
	p.report(b, n, "rows/s")
}

// BenchmarkEndToEnd: a journal through log, tags and store, against the slower
// of publishing bare and inserting bare.
func BenchmarkEndToEnd(b *testing.B) {
	for _, n := range []int{20000, 60000} {
		b.Run(fmt.Sprintf("entries=%d", n), func(b *testing.B) { endToEnd(b, n) })
	}
}

func endToEnd(b *testing.B, n int) {
	var p speed
	for b.Loop() {
		l := newBenchLog(b)
		s := benchStore(b)
		rawPublish := l.rawPublish(b, payloads(b, n), "raw")
		insert, err := s.PrepareRaw(b.Context(), benchRows(n))
		if err != nil {
			b.Fatal(err)
		}
		begun := time.Now()
		if err := insert(b.Context()); err != nil {
			b.Fatal(err)
		}
		rawInsert := time.Since(begun)
		if err := s.Conn().Exec(b.Context(), "TRUNCATE TABLE entries"); err != nil {
			b.Fatal(err)
		}
		st, err := l.js.Stream(b.Context(), stream.Shots)
		if err != nil {
			b.Fatal(err)
		}
		if err := st.Purge(b.Context()); err != nil {
			b.Fatal(err)
		}
		for _, ev := range benchEvents(n) {
			data, err := proto.Marshal(ev)
			if err != nil {
				b.Fatal(err)
			}
			if _, err := l.js.Publish(b.Context(), benchPlace.VisitsSubject(), data); err != nil {
				b.Fatal(err)
			}
		}
		dir := filepath.Join(b.TempDir(), "journal")
		j := journalOf(b, dir, n)
		ctx, cancel := context.WithCancel(b.Context())
		ended := make(chan error, 1)
		go func() {
			ended <- Run(ctx, Options{Owner: "bench", Conn: l.nc, JS: l.js, Store: s, Bays: []stream.Place{benchPlace},
				Registry: prometheus.NewRegistry()})
		}()
		proof.Pause(b, 500*time.Millisecond) // the bay is taken over
		begun = time.Now()
		l.publishJournal(b, j, dir, n)
		// Counting parts costs the engine next to nothing; rows are looked at only
		// once there are enough of them.
		for stored, count := uint64(0), "count()"; stored < uint64(n); {
			proof.Pause(b, 10*time.Millisecond)
			if err := s.Conn().QueryRow(b.Context(), "SELECT "+count+" FROM entries").Scan(&stored); err != nil {
				b.Fatal(err)
			}
			if stored >= uint64(n) && count == "count()" {
				stored, count = 0, "uniqExact(seq)"
			}
		}
		ours := time.Since(begun)
		cancel()
		if err := <-ended; err != nil {
			b.Fatal(err)
		}
		p.add(ours, max(rawPublish, rawInsert))
		j.Close()
		os.RemoveAll(dir)
	}
	p.report(b, n, "entries/s")
}
