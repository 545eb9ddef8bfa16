package console

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"math/rand/v2"
	"sync"
	"time"

	"google.golang.org/protobuf/proto"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/journal"
	"fairlead/ingest/log/steady"
	"fairlead/ingest/log/vault"
	"fairlead/processors/visit"
)

// remember is how long events stay in memory: for the state of a bay, and to
// know an event that is sent a second time.
const remember = 60 * 24 * time.Hour

// Answer is what the writer of an event gets: the event is durable.
type Answer struct {
	ID        string `json:"id"`
	Effective int64  `json:"effective_unix_ns"`
	Journal   string `json:"journal"`
	Seq       uint64 `json:"seq"`
	// Ids that the console gave to what the event began, where it named none.
	Visit   string `json:"visit,omitempty"`
	Session string `json:"session,omitempty"`
	Trial   string `json:"trial,omitempty"`
}

// Refused says why an event was not taken; nothing was written.
type Refused struct{ Faults []*event.Fault }

func (r *Refused) Error() string {
	f := r.Faults[0]
	text := fmt.Sprintf("%s: %s", f.Field, f.Reason)
	if f.Value != "" {
		text = fmt.Sprintf("%s %q: %s", f.Field, f.Value, f.Reason)
	}
	if f.Hint != "" {
		text += ": " + f.Hint
	}
	if n := len(r.Faults); n > 1 {
		text += fmt.Sprintf(" (and %d more)", n-1)
	}
	return text
}

func refuse(field, value, reason, hint string) error {
	return &Refused{[]*event.Fault{event.NewFault(field, value, reason, hint)}}
}

// UnknownBay is asked for a bay that the configuration does not name.
type UnknownBay struct {
	Bay  string
	Bays []string
}

func (u *UnknownBay) Error() string {
	return fmt.Sprintf("no bay %q: there are %v", u.Bay, u.Bays)
}

// Writer takes visit events. It may be used concurrently; events of all bays
// are written one after another, since a fitter's hand is slow and the order of
// the journal is the order in which events were said.
type Writer struct {
	studio  string
	bays    []string
	journal *journal.Journal
	now     func() time.Time
	log     *slog.Logger
	keys    *vault.Ring // of what people wrote
	clock   *steady.Hub // what can't step, for the events; nil: they don't say it

	mu      sync.Mutex
	logs    map[string]*visit.Log
	taken   map[string]Answer // by event id
	said    *saidWords        // counted when first asked for
	changed func(bay string)
	// returned hears of who was forgotten and came back from a bay's copies; nil: nobody does
	returned func(player string)
}

// NewWriter makes the writer of a studio's events and reads back what the
// journal holds of the last weeks. changed is called after each event with the
// bay that it is about, from the goroutine that wrote it.
func NewWriter(ctx context.Context, studio string, bays []string, j *journal.Journal, keys *vault.Ring, now func() time.Time,
	log *slog.Logger, changed func(bay string)) (*Writer, error) {
	w := &Writer{studio: studio, bays: bays, journal: j, keys: keys, now: now, log: log, changed: changed, logs: map[string]*visit.Log{},
		taken: map[string]Answer{}}
	for _, b := range bays {
		w.logs[b] = &visit.Log{}
	}
	since := now().Add(-remember)
	for _, info := range j.Journals() {
		if err := w.recall(info, since); err != nil {
			return nil, err
		}
	}
	return w, nil
}

// recall reads one journal back.
func (w *Writer) recall(info journal.Info, since time.Time) error {
	r := w.journal.Read(info.ID, info.First)
	defer r.Close()
	for {
		e, ok, err := r.TryNext()
		if !ok || err != nil {
			return nil // its end; a damaged stretch is passed over and was reported at opening
		}
		if e.At.Before(since) {
			continue
		}
		ev := &event.VisitEvent{}
		if err := proto.Unmarshal(e.Payload, ev); err != nil {
			w.log.Error("an event of the journal can't be read and is passed over", "journal", e.Journal, "seq", e.Seq, "error", err)
			continue
		}
		ev.Journal, ev.Seq = e.Journal, e.Seq
		w.open(ev)
		w.note(ev)
	}
}

// Learn takes in events that the log holds and this journal does not: those of
// a console that ran on another disk.
func (w *Writer) Learn(ev *event.VisitEvent) {
	w.mu.Lock()
	defer w.mu.Unlock()
	if _, known := w.taken[ev.Id]; !known && ev.Studio == w.studio && w.logs[ev.Bay] != nil {
		w.open(ev)
		w.note(ev)
	}
}

// note keeps an event in memory.
func (w *Writer) note(ev *event.VisitEvent) {
	if l := w.logs[ev.Bay]; l != nil && l.Add(ev) && w.said != nil {
		w.said.add(ev)
	}
	if ev.GetVoided() != nil || ev.GetSessionErased() != nil {
		w.said = nil // what was taken back or forgotten is said no more
	}
	if _, known := w.taken[ev.Id]; !known {
		w.taken[ev.Id] = answerOf(ev)
	}
}

// wasTaken says whether an event of this id was written before.
func (w *Writer) wasTaken(id string) bool {
	w.mu.Lock()
	defer w.mu.Unlock()
	_, known := w.taken[id]
	return known && id != ""
}

func answerOf(ev *event.VisitEvent) Answer {
	a := Answer{ID: ev.Id, Effective: ev.EffectiveUnixNs, Journal: ev.Journal, Seq: ev.Seq}
	if ev.GetSessionOpened() != nil {
		a.Visit, a.Session = ev.Visit, ev.Session
	}
	if t := ev.GetTrialStarted(); t != nil {
		a.Trial = t.Trial
	}
	return a
}

// Known says whether the studio has the bay; the error lists the ones there are.
func (w *Writer) Known(bay string) error {
	if w.logs[bay] == nil {
		return &UnknownBay{bay, w.bays}
	}
	return nil
}

// Timeline is what the bay's events say, folded.
func (w *Writer) Timeline(bay string) *visit.Timeline {
	w.mu.Lock()
	defer w.mu.Unlock()
	if l := w.logs[bay]; l != nil {
		return l.Timeline()
	}
	return (&visit.Log{}).Timeline()
}

// Facts counts the distinct facts known of a bay: it grows with each new one.
func (w *Writer) Facts(bay string) int {
	w.mu.Lock()
	defer w.mu.Unlock()
	if l := w.logs[bay]; l != nil {
		return l.Len()
	}
	return 0
}

// Events lists the bay's events in order, voids and voided ones included.
func (w *Writer) Events(bay string) []*event.VisitEvent {
	w.mu.Lock()
	defer w.mu.Unlock()
	if l := w.logs[bay]; l != nil {
		return l.All()
	}
	return nil
}

// Place is what is known of a bay where something is entered.
func (w *Writer) Place(bay string) *visit.Place {
	w.mu.Lock()
	defer w.mu.Unlock()
	l := w.logs[bay]
	byID := map[string]*event.VisitEvent{}
	for _, ev := range l.All() {
		byID[ev.Id] = ev
	}
	return &visit.Place{Bay: bay, Timeline: l.Timeline(), Live: l.Events(), Now: w.now().UnixNano(), Lot: rand.IntN,
		Event: func(id string) *event.VisitEvent { return byID[id] }}
}

// Live lists the bay's events that were not taken back, in order.
func (w *Writer) Live(bay string) []*event.VisitEvent {
	w.mu.Lock()
	defer w.mu.Unlock()
	if l := w.logs[bay]; l != nil {
		return l.Events()
	}
	return nil
}

// Write takes one event about a bay. It returns when the event is durable. An
// event whose id was taken before with the same content gets the answer of
// then, and nothing is written. Errors: *UnknownBay, *Refused, and those of the
// journal (journal.ErrFull among them).
func (w *Writer) Write(ctx context.Context, bay string, posted *event.VisitEvent) (Answer, error) {
	return w.WriteIf(ctx, bay, posted, anyhow)
}

// stillSo says whether the bay is still as it was seen, and may date the event.
type stillSo func(*visit.Place, *event.VisitEvent) error

func anyhow(*visit.Place, *event.VisitEvent) error { return nil }

// WriteIf is Write for an event that is taken only if the bay is still as it was
// seen: still is asked, and nothing comes between its answer and the event. An
// event that was taken before is not asked about.
func (w *Writer) WriteIf(ctx context.Context, bay string, posted *event.VisitEvent, still stillSo) (Answer, error) {
	if err := w.Known(bay); err != nil {
		return Answer{}, err
	}
	w.mu.Lock()
	answer, touched, err := w.write(ctx, bay, posted, still)
	w.mu.Unlock()
	for _, b := range touched {
		w.changed(b)
	}
	return answer, err
}

func (w *Writer) write(ctx context.Context, bay string, posted *event.VisitEvent, still stillSo) (Answer, []string, error) {
	ev := proto.Clone(posted).(*event.VisitEvent)
	if ev.Bay != "" && ev.Bay != bay {
		return Answer{}, nil, refuse("bay", ev.Bay, "another bay than the one it was sent to, "+bay, "leave it out")
	}
	if ev.Studio != "" && ev.Studio != w.studio {
		return Answer{}, nil, refuse("studio", ev.Studio, "another studio than this one, "+w.studio, "leave it out")
	}
	if a, known := w.taken[ev.Id]; known && ev.Id != "" {
		return w.again(bay, ev, a)
	}
	if err := foreign(ev); err != nil {
		return Answer{}, nil, err
	}
	if err := still(w.place(bay), ev); err != nil {
		return Answer{}, nil, err
	}
	now := w.now()
	w.complete(bay, ev, now)
	w.calm(bay, ev)
	if faults := visit.Validate(ev, now); len(faults) > 0 {
		return Answer{}, nil, &Refused{faults}
	}
	if fault := w.place(bay).Fits(ev); fault != nil {
		return Answer{}, nil, &Refused{[]*event.Fault{fault}}
	}
	events := []*event.VisitEvent{ev}
	if c := w.settled(bay, ev); c != nil {
		events = []*event.VisitEvent{c, ev}
	}
	if c := ev.GetSessionCorrected(); c != nil && c.Bay != "" && c.Bay != bay {
		copies, err := w.carryOver(bay, ev, now)
		if err != nil {
			return Answer{}, nil, err
		}
		events = append(copies, ev) // the copies first: a session may be in two bays for a moment, never in none
	}
	if err := w.append(ctx, events); err != nil {
		return Answer{}, nil, err
	}
	touched := []string{bay}
	for _, ev := range events {
		w.note(ev)
		if ev.Bay != bay && len(touched) == 1 {
			touched = append(touched, ev.Bay)
		}
		if err := w.follow(ev); err != nil {
			w.log.Error("the keys of what people wrote could not be kept with an event; the erasure tries again", "event", ev.Id, "error", err)
		}
	}
	return answerOf(ev), touched, nil
}

// again answers for an id that was taken before.
func (w *Writer) again(bay string, ev *event.VisitEvent, a Answer) (Answer, []string, error) {
	known := w.logs[bay].Event(ev.Id)
	if known == nil {
		return a, nil, refuse("id", ev.Id, "names an event of another bay", "give a fresh id, or none")
	}
	// What the sender left open was filled in then.
	ev.Contract, ev.Studio, ev.Bay, ev.Journal, ev.Seq, ev.RecordedUnixNs = known.Contract, known.Studio, known.Bay, known.Journal, known.Seq,
		known.RecordedUnixNs
	// a tablet that waited may have another at it now
	ev.Boot, ev.MonoNs, ev.Person, ev.Device = known.Boot, known.MonoNs, known.Person, known.Device
	if known.Person != "" && known.Person != "hub" {
		ev.Who = known.Who
	}
	if ev.EffectiveUnixNs == 0 {
		ev.EffectiveUnixNs = known.EffectiveUnixNs
	}
	ev.LastSeen = known.LastSeen // a shot may have come between two taps, or the first waited on a screen that stood still
	if v, k := ev.GetVerdictGiven(), known.GetVerdictGiven(); v != nil && k != nil && v.Trial == k.Trial {
		v.Promises, v.Baseline = k.Promises, k.Baseline // frozen then
	}
	if o, k := ev.GetOrderPlaced(), known.GetOrderPlaced(); o != nil && k != nil && (o.Order == "" || o.Verdict == k.Verdict) {
		o.Order = k.Order
	}
	if m, k := ev.GetOrderMoved(), known.GetOrderMoved(); m != nil && k != nil && m.State == k.State {
		m.CureUntilUnixNs = k.CureUntilUnixNs // it counts from the first tap
	}
	if ev.Visit == "" {
		ev.Visit = known.Visit
	}
	if ev.Session == "" {
		ev.Session = known.Session
	}
	if t, k := ev.GetTrialStarted(), known.GetTrialStarted(); t != nil && k != nil && t.Trial == "" {
		t.Trial = k.Trial
	}
	if !proto.Equal(ev, known) {
		return a, nil, refuse("id", ev.Id, "was taken before for something else", "give a fresh id; to take the earlier event back, void it")
	}
	return a, nil, nil
}

// append makes events durable, all or none, and numbers them.
func (w *Writer) append(ctx context.Context, events []*event.VisitEvent) error {
	records := make([]journal.Record, len(events))
	for i, ev := range events {
		ev.Journal, ev.Seq = "", 0 // they stand in the journal's record header
		kept, err := w.sealed(ev)
		if err != nil {
			return err
		}
		payload, err := proto.MarshalOptions{Deterministic: true}.Marshal(kept)
		if err != nil {
			return fmt.Errorf("write event: %w", err)
		}
		records[i].Payload = payload
	}
	first, err := w.journal.Append(ctx, records...)
	if err != nil {
		return fmt.Errorf("write event: %w", err)
	}
	id := w.holder(first, records[0].Payload)
	for i, ev := range events {
		ev.Journal, ev.Seq = id, first+uint64(i)
	}
	return nil
}

// holder finds the journal that took a record: the active one, unless another
// was begun in that very moment.
func (w *Writer) holder(seq uint64, payload []byte) string {
	all := w.journal.Journals()
	for i := len(all) - 1; i >= 0; i-- {
		r := w.journal.Read(all[i].ID, seq)
		e, ok, _ := r.TryNext()
		r.Close()
		if ok && e.Seq == seq && bytes.Equal(e.Payload, payload) {
			return all[i].ID
		}
	}
	return w.journal.ID()
}

// Full says whether an error means that the journal has no room.
func Full(err error) bool { return errors.Is(err, journal.ErrFull) }
