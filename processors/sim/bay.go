package sim

import (
	"context"
	"fmt"
	"math/rand/v2"
	"slices"
	"time"

	"google.golang.org/protobuf/proto"

	"fairlead/ingest/contract/event"
	"fairlead/processors/golf/flight"
)

// bay is one bay at work: its devices, the visit that runs, and what the
// fitter has entered of it. It serves one goroutine.
type bay struct {
	o        *Options
	name     string
	begins   string // category of its first session
	number   int
	clock    Clock
	start    time.Time
	r, ids   *rand.Rand
	feeds    []*feedFile
	out      *outbox
	truth    *truthLog
	air      flight.Conditions
	interval time.Duration
	fitter   *Player
	s        Summary

	visits  int
	checks  []check // verdicts whose club is being built
	hits    int
	lastHit time.Time
	lastTap time.Time
	heard   map[string]bool // clubs whose effects the truth holds

	// Of the session that runs.
	visitID, session string
	player           *Player
	swinger          *Swinger
	inHand           *Club
	entered          *trialNote // what the console believes runs; nil: nothing, or paused
	enteredHitter    event.HitterKind
	trials           []*trialNote
	notes            []*hitNote
}

// check is a club that the shop makes after a verdict.
type check struct {
	player  *Player
	club    *Club
	verdict string
}

// trialNote is a trial as entered.
type trialNote struct {
	id   string
	club *Club
}

// hitNote is a hit as it was, and as the visit events have it.
type hitNote struct {
	ids        [][]byte // of its valid lines
	standing   bool
	practice   bool
	mishit     string
	club       *Club
	kind       event.HitterKind
	trial      *trialNote       // where the events put it now
	as         event.HitterKind // whose the events say it is
	excluded   bool
	carry      float64
	wrongFirst bool // before anything was mended
}

// wrong says whether the events have the hit under what was not swung.
func (n *hitNote) wrong() bool {
	if n.kind != event.HitterKind_HITTER_PLAYER {
		return n.as == event.HitterKind_HITTER_PLAYER && n.trial != nil && !n.excluded
	}
	return n.as != n.kind || n.trial == nil || n.trial.club != n.club
}

func (b *bay) meet(ctx context.Context, p *Player, fitter bool) {
	if b.o.Meet != nil {
		b.o.Meet(ctx, p, fitter)
	}
}

func (b *bay) newID() string {
	return fmt.Sprintf("%010x%012x", b.clock.Now().UnixMilli()&0xffffffffff, b.ids.Uint64()&0xffffffffffff)
}

// over says whether the bay closes.
func (b *bay) over(ctx context.Context) bool {
	return ctx.Err() != nil || b.o.For > 0 && b.clock.Now().Sub(b.start) >= b.o.For || b.o.Shots > 0 && b.hits >= b.o.Shots
}

// say enters something now and returns its event's id.
func (b *bay) say(ctx context.Context, ev *event.VisitEvent) string {
	b.rest(ctx, b.lastHit)
	now := b.clock.Now()
	if !now.After(b.lastTap) {
		now = b.lastTap.Add(time.Microsecond) // taps have an order
	}
	b.lastTap = now
	ev.Contract, ev.Id, ev.Studio, ev.Bay, ev.Who = event.Contract, b.newID(), b.o.Studio, b.name, b.fitter.ID
	ev.EffectiveUnixNs, ev.Visit, ev.Session = now.UnixNano(), b.visitID, b.session
	b.truth.write(eventRecord(ev))
	b.out.send(ctx, proto.Clone(ev).(*event.VisitEvent)) // a build in it may be amended before it is out
	return ev.Id
}

// rest waits until Quiet has passed since a moment; a bay that closes does not.
func (b *bay) rest(ctx context.Context, since time.Time) {
	if left := b.o.Quiet - b.clock.Now().Sub(since); left > 0 && !since.IsZero() {
		_ = b.clock.Sleep(ctx, left)
	}
}

// hit lets somebody hit the club in hand once; ok is false when the bay closes
// instead.
func (b *bay) hit(ctx context.Context, s *Swinger, kind event.HitterKind, practice bool) (note *hitNote, ok bool, err error) {
	gap := time.Duration(float64(b.interval) * (0.75 + 0.5*b.r.Float64()))
	if wait := b.lastHit.Add(gap).Sub(b.clock.Now()); wait > 0 && !b.lastHit.IsZero() {
		_ = b.clock.Sleep(ctx, wait)
	}
	b.rest(ctx, b.lastTap)
	if b.over(ctx) {
		return nil, false, nil
	}
	h := s.Swing(b.inHand)
	if practice {
		h.soften()
	}
	b.hits++
	b.s.Hits++
	at := b.clock.Now()
	note = &hitNote{club: b.inHand, kind: kind, practice: practice, mishit: h.Mishit, trial: b.entered, as: b.enteredHitter,
		carry: h.Flight.Carry}
	type pending struct {
		line Line
		f    *feedFile
	}
	var lines []pending
	for _, f := range b.feeds {
		for _, l := range f.Write(&h, at, b.inHand.Category) {
			lines = append(lines, pending{l, f})
		}
	}
	slices.SortStableFunc(lines, func(x, y pending) int { return int(x.line.Lag - y.line.Lag) })
	for i, p := range lines {
		// Where hits follow fast, so do their lines.
		if wait := at.Add(min(p.line.Lag, b.interval*time.Duration(i+1)/8)).Sub(b.clock.Now()); wait > 0 {
			_ = b.clock.Sleep(context.WithoutCancel(ctx), wait)
		}
		if err := b.write(p.line, p.f, &h, s.p, note, at); err != nil {
			return nil, false, err
		}
	}
	b.lastHit = b.clock.Now()
	note.wrongFirst = note.wrong()
	b.notes = append(b.notes, note)
	return note, true, nil
}

// write puts one line into its file and its truth beside it.
func (b *bay) write(l Line, f *feedFile, h *Hit, hitter *Player, note *hitNote, at time.Time) error {
	now := b.clock.Now()
	e, err := f.write(l.Text, b.o.Studio, b.name, now)
	if err != nil {
		return err
	}
	if b.o.Keep != nil {
		if err := b.o.Keep(e); err != nil {
			return err
		}
	}
	r := LineRecord{
		Record: "line", Bay: b.name, Feed: f.Name, Device: f.Device.Name, Role: roleWord(f.Role), File: f.base, Kind: l.Kind,
		Valid:  l.Kind != KindMalformed,
		ShotID: e.ID().String(), Written: now.UnixNano(), Hit: at.UnixNano(), Number: b.hits, Visit: b.visitID, Session: b.session,
		Player: b.player.ID, Hitter: hitter.ID, HitterKind: kindWord(note.kind), Club: note.club.ID, Build: note.club.Key(),
		Practice: note.practice, Mishit: note.mishit, Dropped: l.Dropped,
	}
	if l.Misread != event.Field_FIELD_NONE {
		info, _ := l.Misread.Info()
		r.Misread = info.Name
		b.s.Misread++
	}
	if b.entered != nil {
		r.Trial = b.entered.id
	}
	if l.Kind == KindShot || l.Kind == KindMalformed {
		r.Latent = latent(h)
	}
	b.truth.write(r)
	b.s.Lines++
	b.s.Dropped += l.Dropped
	id := e.ShotId
	switch l.Kind {
	case KindMalformed:
		b.s.Rejected++
		return nil
	case KindShot:
		b.s.Shots++
		note.ids = append(note.ids, id)
		note.standing = true
	case KindRepeat:
		b.s.Repeats++
	case KindRevision:
		b.s.Revisions++
	case KindWithdrawn:
		b.s.Withdrawn++
		note.standing = len(note.ids) > 1 // the other device's view is left
	}
	return nil
}

// soften makes a rehearsal of a hit: a slow swing that brushes the ball.
func (h *Hit) soften() {
	h.Mishit = ""
	if h.Putt != nil {
		h.Putt.Speed *= 0.5
		h.Putt.Roll *= 0.5
		h.Putt.Skid *= 0.25
		h.Putt.Distance *= 0.25
		return
	}
	h.Delivery.HeadSpeed *= 0.5
	h.Launch.BallSpeed *= 0.35
	h.Smash = h.Launch.BallSpeed / h.Delivery.HeadSpeed
	h.Launch.SpinRate *= 0.3
	h.Flight, _ = flight.Simulate(h.Launch, flight.Standard())
}

func roleWord(r event.Role) string {
	return [...]string{"ball", "club", "roll", "stroke"}[r]
}

func kindWord(k event.HitterKind) string {
	return [...]string{"player", "fitter", "guest"}[k]
}
