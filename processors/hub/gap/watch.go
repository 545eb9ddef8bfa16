package gap

import (
	"context"
	"fmt"
	"log/slog"
	"slices"
	"sync"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/prometheus/client_golang/prometheus"
	"google.golang.org/protobuf/proto"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/stream"
)

const (
	// grace is how long an entry may be on its way before it counts as missing.
	grace = 5 * time.Second
	// longestPause bounds the wait between repairs that change nothing.
	longestPause = 10 * time.Minute
	// recount is how often a journal is counted from its first seq on; between,
	// only the newest rows are counted again.
	recount = 10 * time.Minute
	newest  = 5000
	// maxAsked bounds the ranges of one repair request.
	maxAsked = 500
)

// Counter counts what is stored from the rows themselves.
type Counter interface {
	Stored(ctx context.Context, place stream.Place, journal string, above uint64) (Ranges, error)
	// Floor is where waiting was given up by hand; 0: nowhere.
	Floor(ctx context.Context, place stream.Place, journal string) (uint64, error)
}

// Journal is what the watch knows of one journal.
type Journal struct {
	Place       stream.Place
	State       *event.JournalState // as the bay last said
	Stored      Ranges
	Floor       uint64    // first seq that is waited for
	Missing     Ranges    // of what the bay holds, not stored, at the last count
	Since       time.Time // when the first of them was first found missing
	Grew        time.Time // when the highest seq stored last rose
	Counted     time.Time // when last counted
	fullCounted time.Time
	asked       int       // repairs done since one of them healed something
	asking      Ranges    // what the last one was for
	vain        int       // how often it was asked since that helped, whatever the bay answered
	next        time.Time // no repair before
	wait        *underway // of entries that are not stored and may yet be on their way
	stalls      int       // how often they were asked for because their way made no progress
}

// lost is what of the missing entries is not merely on its way. A journal is
// sent in order, so what lies below a stored entry was passed over; above it,
// only what does not come for a while.
func (j *Journal) lost(now time.Time) Ranges {
	if len(j.Missing) == 0 || now.Sub(j.Since) < grace {
		return nil
	}
	if now.Sub(j.Grew) >= grace {
		return j.Missing
	}
	var out Ranges
	top := j.Stored.Highest()
	for _, r := range j.Missing {
		if r.From < top {
			out = append(out, Range{r.From, min(r.To, top)})
		}
	}
	return out
}

// Key names a journal: bays choose their journals' names themselves, so what one
// says of a name must not bear on another's.
type Key struct {
	Place   stream.Place
	Journal string
}

// Watch compares heartbeats with the rows, and asks for repairs.
type Watch struct {
	// Home is the studio whose bays go by their names alone; empty: every bay does.
	Home string

	counter Counter
	// Reach, when set before the first check, tells what of a bay's entries is on its
	// way from the log to the store, and is not asked for; nil: what does not come for a while is.
	Reach Reach
	nc    *nats.Conn
	log   *slog.Logger
	now   func() time.Time

	open    *prometheus.GaugeVec
	vain    *prometheus.GaugeVec
	healed  *prometheus.CounterVec
	asked   *prometheus.CounterVec
	refused *prometheus.CounterVec
	// requests that named no bay, made no sense or wanted the answer elsewhere
	unanswered prometheus.Counter

	mu       sync.Mutex
	journals map[Key]*Journal
}

// New makes a watch and registers its metrics.
func New(counter Counter, nc *nats.Conn, log *slog.Logger, now func() time.Time, r prometheus.Registerer) (*Watch, error) {
	w := &Watch{
		counter: counter, nc: nc, log: log, now: now, journals: map[Key]*Journal{},
		open: prometheus.NewGaugeVec(prometheus.GaugeOpts{Namespace: "fairlead", Subsystem: "gap", Name: "open_entries",
			Help: "Entries that a bay's journals hold and the store does not."}, []string{"bay"}),
		vain: prometheus.NewGaugeVec(prometheus.GaugeOpts{Namespace: "fairlead", Subsystem: "gap", Name: "asks_in_vain",
			Help: "How often a bay was asked for what is missing since that last helped."}, []string{"bay"}),
		healed: prometheus.NewCounterVec(prometheus.CounterOpts{Namespace: "fairlead", Subsystem: "gap", Name: "healed_entries_total",
			Help: "Entries that were missing and are stored now."}, []string{"bay"}),
		asked: prometheus.NewCounterVec(prometheus.CounterOpts{Namespace: "fairlead", Subsystem: "gap", Name: "repairs_asked_total",
			Help: "Repairs asked of bays."}, []string{"bay"}),
		refused: prometheus.NewCounterVec(prometheus.CounterOpts{Namespace: "fairlead", Subsystem: "gap", Name: "repairs_failed_total",
			Help: "Repairs that a bay did not answer or could not do in full."}, []string{"bay"}),
	}
	w.unanswered = prometheus.NewCounter(prometheus.CounterOpts{Namespace: "fairlead", Subsystem: "gap", Name: "requests_unanswered_total",
		Help: "Requests for marks that made no sense, or wanted the answer in somebody else's subject."})
	for _, c := range []prometheus.Collector{w.open, w.vain, w.healed, w.asked, w.refused, w.unanswered} {
		if err := r.Register(c); err != nil {
			return nil, fmt.Errorf("gap watch metrics: %w", err)
		}
	}
	return w, nil
}

// Check counts the journals of a heartbeat and asks for what is missing. It is
// called for each heartbeat of a bay, never for two of one bay at a time. Again says
// that a look at the same one before long will know more.
func (w *Watch) Check(ctx context.Context, place stream.Place, h *event.Heartbeat) (again bool, err error) {
	var open uint64
	sent := sent(h)
	for i, s := range h.Journals {
		key := Key{place, s.Journal}
		passed, waits := w.passed(ctx, key)
		if waits && !passed && w.known(key).State == s {
			open, again = open+w.known(key).Missing.Count(), true
			continue // it would be counted to no end
		}
		j, err := w.count(ctx, place, s)
		if err != nil {
			return false, err
		}
		open += j.Missing.Count()
		var lost Ranges
		if w.reaches(place) {
			lost = w.settle(ctx, key, j.Missing.upTo(sent[i]), passed)
			again = again || w.known(key).wait != nil
		} else {
			lost = j.lost(w.now())
		}
		if len(lost) > 0 && !w.now().Before(j.next) {
			w.log.Warn("entries are missing in the store, asking the bay for them", "bay", place.In(w.Home),
				"journal", s.Journal, "entries", lost.Count())
			w.pause(key, lost, w.Repair(ctx, place, s.Journal, lost))
			again = again || w.reaches(place)
		}
	}
	w.open.WithLabelValues(place.In(w.Home)).Set(float64(open))
	w.vain.WithLabelValues(place.In(w.Home)).Set(float64(w.inVain(place, h.Journals)))
	w.forget(place, h.Journals)
	return again, nil
}

// inVain is how often the worst of a bay's journals was asked to no end.
func (w *Watch) inVain(place stream.Place, has []*event.JournalState) (most int) {
	w.mu.Lock()
	defer w.mu.Unlock()
	for _, s := range has {
		if j := w.journals[Key{place, s.Journal}]; j != nil {
			most = max(most, j.vain)
		}
	}
	return most
}

// forget drops journals that a bay no longer has: it can't fill anything in from them.
func (w *Watch) forget(place stream.Place, has []*event.JournalState) {
	w.mu.Lock()
	defer w.mu.Unlock()
	for key := range w.journals {
		if key.Place == place && !slices.ContainsFunc(has, func(s *event.JournalState) bool { return s.Journal == key.Journal }) {
			delete(w.journals, key)
		}
	}
}

// pause puts off the next repair of a journal, longer each time that one was
// done and healed nothing: what a repair can't mend must not fill the log.
func (w *Watch) pause(key Key, lost Ranges, done bool) {
	w.mu.Lock()
	defer w.mu.Unlock()
	j := w.journals[key]
	wait := grace
	for range min(j.asked, 10) {
		wait = min(2*wait, longestPause)
	}
	j.next, j.asking = w.now().Add(wait), lost
	j.vain++
	if done {
		j.asked++
	}
}

// count brings a journal's state up to date from the rows.
func (w *Watch) count(ctx context.Context, place stream.Place, s *event.JournalState) (Journal, error) {
	w.mu.Lock()
	key := Key{place, s.Journal}
	j, ok := w.journals[key]
	if !ok {
		j = &Journal{Place: place}
		w.journals[key] = j
	}
	before := *j
	w.mu.Unlock()

	floor, err := w.counter.Floor(ctx, place, s.Journal)
	if err != nil {
		return before, err
	}
	floor = max(floor, s.First)
	now := w.now()
	above := floor - min(floor, 1)
	full := now.Sub(before.fullCounted) > recount
	if !full {
		below := before.Stored.Below(floor)
		above = max(above, below-min(below, newest))
	}
	stored, err := w.counter.Stored(ctx, place, s.Journal, above)
	if err != nil {
		return before, err
	}
	if !full { // what lies below was counted not long ago
		for _, r := range before.Stored {
			if r.From <= above {
				stored.Add(r.From, min(r.To, above))
			}
		}
	}
	after := Journal{Place: place, State: s, Stored: stored, Floor: floor, Counted: now, fullCounted: before.fullCounted,
		Since: before.Since, Grew: before.Grew, asked: before.asked, asking: before.asking, vain: before.vain, next: before.next,
		wait: before.wait, stalls: before.stalls}
	if full {
		after.fullCounted = now
	}
	given := append(Ranges(nil), stored...)
	for _, q := range s.Quarantined { // nobody has them any more
		given.Add(q.From, q.To)
	}
	if s.Last >= floor {
		after.Missing = given.Missing(floor, s.Last)
	}
	if len(before.Missing) == 0 {
		after.Since = now
	}
	healed := uint64(0)
	for _, m := range before.Missing {
		healed += m.To - m.From + 1 - stored.Missing(m.From, m.To).Count()
	}
	if stored.Highest() > before.Stored.Highest() || before.Grew.IsZero() {
		after.Grew = now
	}
	for _, r := range before.asking {
		if stored.Missing(r.From, r.To).Count() < r.To-r.From+1 {
			after.asked, after.asking, after.vain, after.next = 0, nil, 0, time.Time{}
			break
		}
	}
	if len(after.Missing) == 0 { // it was closed by hand, or is known to be damaged
		after.vain = 0
	}
	if healed > 0 && now.Sub(before.Since) >= grace {
		w.healed.WithLabelValues(place.In(w.Home)).Add(float64(healed))
	}
	w.mu.Lock()
	*w.journals[key] = after
	w.mu.Unlock()
	return after, nil
}

// Repair asks a bay to publish entries of a journal again, under fresh message
// ids: the broker swallows a repeated one even after the message was lost. What
// the bay can't do is logged and counted; whoever asked looks again later.
func (w *Watch) Repair(ctx context.Context, place stream.Place, journal string, missing Ranges) (done bool) {
	ask := missing
	if len(ask) > maxAsked {
		ask = ask[:maxAsked]
	}
	w.asked.WithLabelValues(place.In(w.Home)).Inc()
	request, err := proto.Marshal(&event.RepairRequest{Journal: journal, Ranges: ask.Message(), Nonce: event.NewID(w.now())})
	if err == nil {
		ctx, cancel := context.WithTimeout(ctx, 20*time.Second)
		defer cancel()
		var m *nats.Msg
		if m, err = w.nc.RequestWithContext(ctx, place.RepairSubject(), request); err == nil {
			var reply event.RepairReply
			if err = proto.Unmarshal(m.Data, &reply); err == nil && reply.Error != "" {
				err = fmt.Errorf("%s", reply.Error)
			}
		}
	}
	if err != nil {
		w.refused.WithLabelValues(place.In(w.Home)).Inc()
		w.log.Warn("the bay did not repair", "bay", place.In(w.Home), "journal", journal, "error", err)
	}
	return err == nil
}

// Recount has every journal counted from its first seq on at the next
// heartbeat, and asked for at once: rows were lost that had been there.
func (w *Watch) Recount() {
	w.mu.Lock()
	defer w.mu.Unlock()
	for _, j := range w.journals {
		j.fullCounted, j.next, j.asked, j.vain = time.Time{}, time.Time{}, 0, 0
	}
}

// Journals returns what is known of each journal.
func (w *Watch) Journals() map[Key]Journal {
	w.mu.Lock()
	defer w.mu.Unlock()
	out := map[Key]Journal{}
	for id, j := range w.journals {
		if j.State != nil {
			out[id] = *j
		}
	}
	return out
}

// ServeMarks answers bays that ask what the store holds of their journals: only
// what the rows said at the last count, of the bay that the subject names, and
// into no subject but one made for answers.
func (w *Watch) ServeMarks() (*nats.Subscription, error) {
	return w.nc.Subscribe("hub.marks.*.*", func(m *nats.Msg) {
		place, ok := stream.PlaceOf(m.Subject)
		var request event.MarksRequest
		if !ok || !stream.AnswerTo(m.Reply, place) || proto.Unmarshal(m.Data, &request) != nil {
			w.unanswered.Inc()
			return
		}
		known := w.Journals()
		reply := &event.MarksReply{}
		for _, id := range request.Journals {
			if j, ok := known[Key{place, id}]; ok {
				reply.Marks = append(reply.Marks, &event.Mark{Journal: id, StoredBelow: j.Stored.Below(j.Floor), Highest: j.Stored.Highest()})
			}
		}
		if data, err := proto.Marshal(reply); err == nil {
			m.Respond(data)
		}
	})
}
