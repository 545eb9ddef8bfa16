package sink

import (
	"encoding/json"
	"errors"
	"io"
	"log/slog"
	"runtime"
	"slices"
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus"

	"fairlead/deploy/proof"
	"fairlead/ingest/contract/event"
	"fairlead/processors/hub/store"
	"fairlead/processors/visit/rolling"
)

// openBay is a bay whose one session was never closed: n shots of the last hours.
func openBay(t testing.TB, s *store.Store, n int) []*event.VisitEvent {
	t.Helper()
	step := 20 * time.Hour / time.Duration(n)
	begin := time.Now().Add(-21 * time.Hour)
	var events []*event.VisitEvent
	for i, ev := range []*event.VisitEvent{
		{Body: &event.VisitEvent_SessionOpened{SessionOpened: &event.SessionOpened{Player: "p", Hand: event.Hand_HAND_RIGHT, Category: "iron"}}},
		{Body: &event.VisitEvent_TrialStarted{TrialStarted: &event.TrialStarted{Trial: "t1", Build: &event.Build{Name: "b"}}}},
	} {
		ev.Contract, ev.Studio, ev.Bay, ev.Session, ev.Visit, ev.Id = 1, benchPlace.Studio, benchPlace.Bay, "s", "v", string(rune('a'+i))
		ev.EffectiveUnixNs = begin.Add(time.Duration(i) * time.Second).UnixNano()
		ev.RecordedUnixNs = ev.EffectiveUnixNs
		events = append(events, ev)
	}
	w := workerOf(t, s, events)
	read := event.NewReader()
	var batch []taken
	for i := 1; i <= n; i++ {
		e := benchEntry(i)
		e.Journal, e.Seq = "00000000000000aa", uint64(i)
		e.EffectiveUnixNs = begin.Add(time.Minute + time.Duration(i)*step).UnixNano()
		e.ReceivedUnixNs = e.EffectiveUnixNs
		batch = append(batch, take(given{data: marshal(t, e)}, benchPlace, read))
		if len(batch) == 10*maxBatch || i == n {
			if err := w.takeShots(t.Context(), batch); err != nil {
				t.Fatal(err)
			}
			if err := w.flush(t.Context()); err != nil {
				t.Fatal(err)
			}
			batch = nil
		}
	}
	return events
}

func workerOf(t testing.TB, s *store.Store, events []*event.VisitEvent) *Worker {
	t.Helper()
	m, err := NewMetrics(prometheus.NewRegistry())
	if err != nil {
		t.Fatal(err)
	}
	w, err := newWorker(t.Context(), benchPlace, benchPlace.Bay, s, events, slog.New(slog.NewTextHandler(io.Discard, nil)), m, nil)
	if err != nil {
		t.Fatal(err)
	}
	return w
}

// A bay that holds many shots in one open session is taken over again: its
// shots are more than one statement can name.
func TestTakeOverAFullBay(t *testing.T) {
	n := 20_000
	if proof.Wanted() {
		n = 200_000
	}
	s := benchStore(t)
	events := openBay(t, s, n)
	var before, after runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&before)
	begun := time.Now()
	w := workerOf(t, s, events)
	took := time.Since(begun)
	runtime.GC()
	runtime.ReadMemStats(&after)
	if held := w.bay.Held(); held != n {
		t.Fatalf("%d of %d entries are held", held, n)
	}
	compared := time.Now()
	if entries, rest := waiting(t, w); len(entries) > 0 || rest != 0 {
		t.Errorf("%d entries and %d other rows are to be written of a bay in which nothing changed", len(entries), rest)
	}
	comparing := time.Since(compared)
	lines := 0
	for _, c := range w.board.sessions["s"] {
		if c.entry != nil {
			lines++
		}
	}
	if lines > keepWhole {
		t.Errorf("%d lines are held that the store has", lines)
	}
	state, err := json.Marshal(rolling.NewBuilder().Build(w.snapshot()))
	if err != nil || len(state) > 1<<20 {
		t.Errorf("the bay's state takes %d bytes of the message's million, %v", len(state), err)
	}
	var lean runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&lean)
	// A revision of an old shot reaches its row, and shots asked for by id come whole.
	ids := make([]event.ShotID, 0, n)
	for i := 1; i <= n; i++ {
		ids = append(ids, benchEntry(i).ID())
	}
	all, err := s.Of(t.Context(), benchPlace, ids)
	if err != nil || len(all) != n {
		t.Fatalf("%d of %d entries by id, %v", len(all), n, err)
	}
	each := func(m *runtime.MemStats) int64 { return (int64(m.HeapAlloc) - int64(before.HeapAlloc)) / int64(n) }
	t.Logf("%d shots of one open session: taken over in %s, held against the store in %s, %d bytes a shot held then, %d once compared; "+
		"its state takes %d bytes", n, took, comparing, each(&after), each(&lean), len(state))
	proof.Record(t, "take_over", map[string]any{"shots": n, "seconds": took.Seconds(), "compared_s": comparing.Seconds(),
		"bytes_a_shot_first": each(&after),
		"bytes_a_shot":       each(&lean), "state_bytes": len(state)})
	runtime.KeepAlive(w)
}

// Of a bay that is taken over what somebody altered is written, and nothing else; so
// is what a predecessor had on its way.
func TestATakeoverWritesWhatDiffers(t *testing.T) {
	const n, altered = 600, 250
	s := benchStore(t)
	events := openBay(t, s, n)
	for _, statement := range []string{"ALTER TABLE entries UPDATE carry_m = 1 WHERE seq = 250", "ALTER TABLE trials UPDATE n = 3 WHERE 1"} {
		if err := s.Conn().Exec(t.Context(), statement+" SETTINGS mutations_sync = 2"); err != nil {
			t.Fatal(err)
		}
	}
	w := workerOf(t, s, events)
	if entries, rest := waiting(t, w); !slices.Equal(entries, []uint64{altered}) || rest != 1 {
		t.Errorf("%d entries and %d other rows are to be written, want %d and the trial's", len(entries), rest, altered)
	}
	if err := w.flush(t.Context()); err != nil {
		t.Fatal(err)
	}
	late(t, s, events, n)
}

// waiting holds what a bay's new worker computed against the store, and says which
// entries are to be written, and how many rows beside.
func waiting(t *testing.T, w *Worker) (entries []uint64, rest int) {
	t.Helper()
	if err := w.differing(t.Context()); err != nil {
		t.Fatal(err)
	}
	for i := range w.queue {
		for _, row := range w.queue[i].entries {
			entries = append(entries, row.Entry.Seq)
		}
		rest += w.queue[i].rows() - len(w.queue[i].entries)
	}
	slices.Sort(entries)
	return entries, rest
}

// late lets a predecessor that knew of an exclusion, and not that it was taken back,
// write after its bay was taken over.
func late(t *testing.T, s *store.Store, events []*event.VisitEvent, n int) {
	t.Helper()
	seq := n - 5 // few shots come after it, and change their place
	id := benchEntry(seq).ID()
	say := func(ev *event.VisitEvent, name string) *event.VisitEvent {
		ev.Contract, ev.Studio, ev.Bay, ev.Session, ev.Visit, ev.Id = 1, benchPlace.Studio, benchPlace.Bay, "s", "v", name
		ev.EffectiveUnixNs, ev.RecordedUnixNs = time.Now().UnixNano(), time.Now().UnixNano()
		return ev
	}
	out := say(&event.VisitEvent{Body: &event.VisitEvent_ShotsExcluded{
		ShotsExcluded: &event.ShotsExcluded{ShotIds: [][]byte{id[:]}, Reason: "topped"}}}, "out")
	back := say(&event.VisitEvent{Body: &event.VisitEvent_Voided{Voided: &event.Voided{Event: "out"}}}, "back")
	old := workerOf(t, s, append(slices.Clone(events), out))
	if entries, rest := waiting(t, old); !slices.Contains(entries, uint64(seq)) || len(entries) > 10 || rest == 0 {
		t.Fatalf("%d entries and %d other rows follow from an exclusion", len(entries), rest)
	}
	w := workerOf(t, s, append(slices.Clone(events), out, back))
	if entries, _ := waiting(t, w); len(entries) > 0 {
		t.Fatalf("%d entries are to be written from %d on, and nothing changed", len(entries), entries[0])
	}
	if err := w.late(t.Context()); err != nil {
		t.Errorf("nothing came late: %v", err)
	}
	w = workerOf(t, s, append(slices.Clone(events), out, back))
	waiting(t, w)
	if err := old.flush(t.Context()); err != nil {
		t.Fatal(err)
	}
	if err := w.late(t.Context()); !errors.Is(err, errLate) {
		t.Errorf("a predecessor's rows came late, and it says %v", err)
	}
	w = workerOf(t, s, append(slices.Clone(events), out, back))
	if entries, rest := waiting(t, w); !slices.Contains(entries, uint64(seq)) || rest == 0 {
		t.Errorf("%d entries and %d other rows are written again", len(entries), rest)
	}
}
