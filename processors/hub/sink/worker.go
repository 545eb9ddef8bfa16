package sink

import (
	"context"
	"errors"
	"log/slog"
	"maps"
	"reflect"
	"slices"
	"time"

	"github.com/nats-io/nats.go/jetstream"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/stream"
	"fairlead/processors/hub/store"
	"fairlead/processors/visit"
	"fairlead/processors/visit/tag"
)

const (
	// maxBatch bounds one round of tagging.
	maxBatch = 2000
	// maxLooked bounds the shots of a round that the sensor charts look at: all of
	// them when shots come one by one, a sample of a backlog.
	maxLooked = 20
	// maxQueued bounds the rows that wait for the store. Beyond it the worker
	// stops taking entries: they wait in the log.
	maxQueued = 50000
	// maxHeld bounds the entries that are held beyond recent ones.
	maxHeld = 50000
)

// Worker runs one bay. Its goroutine alone touches its state.
type Worker struct {
	place   stream.Place
	name    string // of the bay in metrics and pulse
	store   *store.Store
	log     *slog.Logger
	metrics *Metrics
	live    *live
	pulse   *Pulse
	out     *writer

	facts   *facts
	sensors *sensors
	bay     *tag.Bay
	board   *board
	entries uint64 // distinct entries known of the bay, for the version of trial rows
	loaded  map[string]bool
	alarms  []tag.Alarm
	open    map[*card]bool // entries that are between two builds
	now     func() time.Time
	loose   []*card           // latest entries without a place in a session
	undone  []tag.Change      // changes that the store could not be asked about; they come with the next
	stale   map[string]bool   // sessions whose rows have to be computed again
	checks  visit.Checks      // of the whole studio
	checked map[string]string // what they say: verdict, trial

	queue   []write // for the store, in order
	queued  int     // rows in it
	pending []taken
	kept    int         // entries held after the last forget
	most    int         // that may come to them before the next
	took    []tag.Noted // of the last round: its memory is used again
	whole   []*card     // that hold their lines and are stored, oldest first
	keep    int         // how many of them
	vouched *vouched    // until what was on its way at the takeover is known; nil: nothing is
}

// newWorker loads what is known of the bay: its events from the log and the
// store, and the fingerprints of its shots.
func newWorker(ctx context.Context, place stream.Place, name string, s *store.Store, events []*event.VisitEvent,
	log *slog.Logger, m *Metrics, l *live) (*Worker, error) {
	f, err := newFacts(ctx, s, place)
	if err != nil {
		return nil, err
	}
	stored, err := s.Events(ctx, place)
	if err != nil {
		return nil, err
	}
	n, err := s.CountEntries(ctx, place)
	if err != nil {
		return nil, err
	}
	var history visit.Log
	have := map[string]bool{}
	for _, ev := range stored {
		history.Add(ev)
		have[ev.Id] = true
	}
	w := &Worker{
		place: place, name: name, store: s, log: log, metrics: m, live: l, facts: f, sensors: newSensors(name, m, log), board: newBoard(),
		entries: n,
		loaded:  map[string]bool{}, stale: map[string]bool{}, most: maxHeld, keep: keepWhole, open: map[*card]bool{}, now: time.Now,
	}
	w.out = newWriter(s, log, m, pace{}) // of its own, until it is given that of the process
	var missing []*event.VisitEvent
	for _, ev := range events {
		history.Add(ev)
		if !have[ev.Id] {
			missing = append(missing, ev)
		}
	}
	w.bay = tag.NewBay(tag.DefaultRules(), &history, f)
	w.push(write{events: w.asKept(missing)})
	abroad, err := storedAbroad(ctx, s, place.Studio)
	if err != nil {
		return nil, err
	}
	w.rejudge(w.takeAbroad(append(abroad, history.All()...)))
	// The predecessor may have died between taking an event and writing the
	// tags that it changed: the recent past is tagged and written again.
	since := time.Now().Add(-recent).UnixNano()
	changes, err := w.bay.Refresh(ctx, since, visit.Never)
	if err != nil {
		return nil, err
	}
	if err := w.settle(ctx, changes, nil, nil); err != nil {
		return nil, err
	}
	for _, s := range w.bay.Timeline().Sessions {
		if s.From >= since && s.From < s.To { // its shots were read just now
			w.loaded[s.ID] = true
		}
	}
	// Events that the predecessor took and whose reach is older.
	unfinished, err := w.unfinished(ctx)
	if err != nil {
		return nil, err
	}
	missing = append(missing, unfinished...)
	if len(missing) > 0 {
		if err := w.takeEvents(ctx, missing); err != nil {
			return nil, err
		}
	}
	return w, nil
}

// takeShots tags a batch of the log.
func (w *Worker) takeShots(ctx context.Context, batch []taken) error {
	facts := slices.Grow(w.took[:0], len(batch))
	defer func() { clear(facts); w.took = facts[:0] }()
	var made cards
	var asides []store.Aside
	for i := range batch {
		t := &batch[i]
		if t.aside != "" {
			w.metrics.setAside(w.log, t.aside, t.msg.Subject())
			asides = append(asides, notedMessage(t.msg, stream.Shots, w.place, t.aside))
			continue
		}
		e := t.line.Entry
		if t.mended {
			w.metrics.poison.WithLabelValues("value").Inc()
			w.log.Error("an entry that can't be right is stored as rejected", "journal", e.Journal, "seq", e.Seq, "field",
				e.Faults[len(e.Faults)-1].Field)
		}
		fact, c := made.make(&t.line, len(batch)-i)
		c.fresh = true
		facts = append(facts, fact)
	}
	w.took = facts
	begun := time.Now()
	changes, err := w.bay.AddEntries(ctx, facts)
	if err != nil {
		return err
	}
	for i := range facts { // from here on, not before: the first time a shot comes, no other entry of it is in the store
		w.facts.saw(facts[i].ID)
	}
	w.metrics.tagged.Add(float64(len(facts)))
	w.metrics.tagSeconds.Observe(time.Since(begun).Seconds())
	if len(asides) > 0 {
		w.push(write{asides: asides})
	}
	return w.settle(ctx, changes, nil, batch[len(batch)-1].msg)
}

// takeEvents applies visit events and rewrites what they change.
func (w *Worker) takeEvents(ctx context.Context, events []*event.VisitEvent) error {
	changes, err := w.bay.AddEvents(ctx, events)
	if err != nil {
		return err
	}
	touched := map[string]bool{}
	for _, ev := range events {
		if ev.Session != "" {
			touched[ev.Session] = true
		}
		if v := ev.GetVoided(); v != nil {
			for _, known := range w.bay.Log().All() {
				if known.Id == v.Event && known.Session != "" {
					touched[known.Session] = true
				}
			}
		}
	}
	// What an event says beside the tags (a build's name, a feel) stands in the
	// session's rows too: its shots are needed to write them again.
	tl := w.bay.Timeline()
	for id := range touched {
		s := tl.Session(id)
		if s == nil || w.loaded[id] || s.From >= s.To {
			continue
		}
		more, err := w.bay.Refresh(ctx, s.From, s.To)
		if err != nil {
			return err
		}
		changes = append(changes, more...)
		w.loaded[id] = true
	}
	for id := range w.takeAbroad(events) {
		if !touched[id] {
			w.rejudge(map[string]bool{id: true})
		}
	}
	w.metrics.events.Add(float64(len(events)))
	return w.settleTouched(ctx, changes, touched, w.asKept(events), nil)
}

func (w *Worker) settle(ctx context.Context, changes []tag.Change, events []*event.VisitEvent, ack jetstream.Msg) error {
	return w.settleTouched(ctx, changes, map[string]bool{}, events, ack)
}

// works says that the round under way gets on.
func (w *Worker) works() { w.pulse.works(w.name) }

// settleTouched turns changed tags into rows for the store and shows them.
func (w *Worker) settleTouched(ctx context.Context, changes []tag.Change, touched map[string]bool, events []*event.VisitEvent,
	ack jetstream.Msg) error {
	changes = append(w.undone, changes...)
	w.undone = nil
	cards := make([]*card, len(changes))
	for i, c := range changes {
		cards[i] = c.Note.(*card)
	}
	if err := w.fetch(ctx, cards); err != nil {
		w.undone = changes
		return err
	}
	for i, c := range changes {
		if err := w.read(ctx, cards[i], c.Tag); err != nil {
			w.undone = changes
			return err
		}
		if i%1000 == 999 {
			w.works()
		}
	}
	maps.Copy(w.stale, touched)
	w.metrics.revisions.Add(float64(w.board.apply(cards, changes, w.stale)))
	out := write{events: events, ack: ack, entries: make([]store.EntryRow, 0, len(cards))}
	looked := 0
	w.alarms = w.bay.Alarms()
	w.metrics.claims.WithLabelValues(w.name).Set(float64(len(w.alarms)))
	for _, c := range cards {
		if c.tag.Status == tag.Between {
			w.open[c] = true
		} else {
			delete(w.open, c)
		}
		if c.entry == nil {
			continue // the store lost it, and gets it from its journal again
		}
		row := store.EntryRow{Entry: c.entry, Payload: c.bytes, Tag: c.tag, Values: c.values}
		if c.tag.Forgotten {
			row = row.Erased()
			c.entry, c.bytes, c.given, c.values = row.Entry, nil, nil, row.Values
			w.loose = slices.DeleteFunc(w.loose, func(o *card) bool { return o == c })
		} else if !c.tag.Status.Ordered() {
			w.noteLoose(c)
		}
		if c.fresh { // each entry once, as it comes
			c.fresh = false
			w.entries++
			if looked < maxLooked {
				w.sensors.add(c.tag, c.device, c.values)
				looked++
			}
		}
		out.entries = append(out.entries, row)
		out.cards = append(out.cards, c)
	}
	w.metrics.between.WithLabelValues(w.name).Set(float64(len(w.open)))
	tl := w.bay.Timeline()
	for id := range w.stale {
		rows, err := w.sessionRows(ctx, tl, id)
		if err != nil {
			w.undone = changes
			return err
		}
		out.trials = append(out.trials, rows...)
		out.verdicts = append(out.verdicts, w.verdicts(id)...)
	}
	clear(w.stale)
	w.push(out)
	if w.live != nil {
		w.live.offer(w.snapshot)
	}
	return nil
}

// sessionRows computes a session's trial rows and returns those that changed.
func (w *Worker) sessionRows(ctx context.Context, tl *visit.Timeline, id string) ([]store.TrialRow, error) {
	written := w.board.rows[id]
	if written == nil {
		written = map[store.TrialKey]trialWritten{}
		if w.facts.sessions[id] {
			keys, err := w.store.TrialKeys(ctx, w.place.Studio, w.place.Bay, id)
			if err != nil {
				return nil, err
			}
			for _, k := range keys {
				written[k] = trialWritten{row: store.TrialRow{Version: 0}}
			}
		}
		w.board.rows[id] = written
		w.facts.sessions[id] = true // should it be forgotten and come back
	}
	version := w.version(tl)
	var out []store.TrialRow
	seen := map[store.TrialKey]bool{}
	for _, row := range trialRows(placeNames{w.place.Studio, w.place.Bay}, tl, id, w.board.inOrder(id)) {
		k := store.TrialKey{Session: id, Trial: row.Trial, Part: row.Part}
		seen[k] = true
		row.Version = version
		old, known := written[k]
		same := row
		same.Version = old.row.Version
		if known && !old.empty && old.row.Version != 0 && reflect.DeepEqual(same, old.row) {
			continue
		}
		written[k] = trialWritten{row: row}
		out = append(out, row)
	}
	for k, old := range written {
		if seen[k] || old.empty {
			continue
		}
		row := store.TrialRow{Studio: w.place.Studio, Bay: w.place.Bay, Session: id, Trial: k.Trial, Part: k.Part, Version: version}
		if t := tl.Trial(k.Trial); t != nil {
			row.Build = t.Build
		}
		written[k] = trialWritten{row: row, empty: true}
		out = append(out, row)
	}
	return out, nil
}

// version of trial rows: what is known of the bay, events before entries. More
// knowledge never gives a smaller one, and a row changes only with knowledge.
func (w *Worker) version(tl *visit.Timeline) uint64 {
	const bits = 36
	return uint64(tl.Events)<<bits | min(w.entries, 1<<bits-1)
}

// verdicts are the rows of a session's verdicts. Their version counts what is
// known of the bay and, of others, what may bear on them.
func (w *Worker) verdicts(session string) (out []store.VerdictRow) {
	version := uint64(w.bay.Timeline().Events + w.checks.Abroad(w.place.Bay))
	for _, v := range visit.Verdicts(w.bay.Log(), session, w.checked) {
		out = append(out, store.VerdictRow{Place: w.place, ID: v.Event, Version: version, Visit: v.Visit, Session: v.Session, Player: v.Player,
			Category: v.Category, At: v.At, Given: v.Given, CheckTrial: v.CheckTrial, Live: v.Live})
	}
	return out
}

// noteLoose remembers the latest entries that have no place in a session, for
// the page: a fitter wants to see that a swing was taken and set aside.
func (w *Worker) noteLoose(c *card) {
	const keep = 12
	if slices.Contains(w.loose, c) {
		return
	}
	w.loose = append(w.loose, c)
	if len(w.loose) > keep {
		w.loose = w.loose[len(w.loose)-keep:]
	}
}

// full says whether so much was taken since the last forget that it is time for
// the next one: a backlog of years does not fit into memory.
func (w *Worker) full() bool { return w.bay.Held() >= w.kept+w.most }

// forget bounds the memory to recent entries, once the store has taken all.
func (w *Worker) forget(now time.Time) {
	if w.queued > 0 || len(w.undone)+len(w.stale) > 0 {
		return
	}
	w.forgetBefore(now.Add(-recent).UnixNano())
}

func (w *Worker) forgetBefore(instant int64) {
	for _, note := range w.bay.Forget(instant) {
		c := note.(*card)
		w.facts.forgot(c.effective)
		w.board.forget(c)
	}
	w.kept = w.bay.Held()
	for id := range w.loaded {
		if len(w.board.sessions[id]) == 0 {
			delete(w.loaded, id)
		}
	}
	w.loose = nil
}

var errRenewed = errors.New("the log is not what it was")
