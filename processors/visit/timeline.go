package visit

import (
	"math"
	"sort"
	"strings"

	"fairlead/ingest/contract/event"
	"fairlead/processors/visit/stock"
)

// Span is what holds in a bay from one event to the next.
type Span struct {
	SpanWords
	Session *Session // nil: none is open
	Trial   *Trial   // nil: none runs
	setting *Setting // never nil
}

// SpanWords are what a span says by itself. It is comparable.
type SpanWords struct {
	From            int64 // the event's effective time
	Part            int   // of the trial, from 1; 0 without one
	Paused          bool
	Hitter          event.HitterKind
	HitterID        string // of a guest or fitter, when known
	HitterHand      event.Hand
	Intent          event.Intent
	Class           event.ShotClass
	ClassLength     float64 // m of carry meant in a partial shot, 0: not stated
	Instruction     string  // last one of the session
	InstructionKind event.InstructionKind
	Instructions    int // noted in the session so far
}

// Setting is where and with what balls the shots are hit.
func (s *Span) Setting() Setting { return *s.setting }

// SameSetting says whether two spans have the same setting.
func (s *Span) SameSetting(o *Span) bool { return s.setting == o.setting || *s.setting == *o.setting }

// Hand is the hitter's hand: the session's unless another was given.
func (s *Span) Hand() event.Hand {
	if s.HitterHand != event.Hand_HAND_UNKNOWN || s.Session == nil {
		return s.HitterHand
	}
	return s.Session.Hand
}

// Overlay is what was said of one shot after it was hit. A nil event means
// that nothing was said; of several, the last in order counts.
type Overlay struct {
	Excluded *Excluded
	Moved    *Moved
	Classed  *Classed
	Unpaired bool
}

// Said names the event that an overlay comes from and its place in the order.
type Said struct {
	Event string
	Rank  int // greater is later; comparable within one timeline only
}

// Excluded says whether a shot is left out, and why.
type Excluded struct {
	Said
	Out    bool // false: restored
	Reason string
}

// Moved puts a shot into a trial; an empty one means nobody's.
type Moved struct {
	Said
	Trial string
	At    int64 // as when it counts, where its time is not known; 0: not said
}

// Classed gives a shot its class.
type Classed struct {
	Said
	Class  event.ShotClass
	Length float64 // m, 0: not stated
}

// Oddity is an event that did not fit, and what was made of it.
type Oddity struct {
	Event string
	At    int64
	Text  string
}

// Timeline is the folded log. It does not change after it was made and may be
// read concurrently.
type Timeline struct {
	Events   int        // distinct facts it was folded from (Log.Len)
	Spans    []Span     // in order; the first begins before all times
	Sessions []*Session // in order of opening
	Stays    []*Stay    // in order
	Overlays map[event.ShotID]*Overlay
	Oddities []Oddity
	Checked  []BayCheck // with the studio's reference club

	shelf    []stock.Said
	taken    map[string]*taking // parts of orders, by number
	sessions map[string]*Session
	trials   map[string]*Trial
	movedIn  map[*Session][]event.ShotID
	seen     map[string]*bounds
	met      map[string]Met
}

// Met is where the hub's clock stood against a boot of the bay's machine.
type Met struct {
	Ahead int64 // hub's Unix ns less the time since the boot
	Error int64 // ns, at most so far off
}

// Met returns it for a boot that came into contact; ok is false for others.
func (t *Timeline) Met(boot string) (m Met, ok bool) {
	m, ok = t.met[boot]
	return m, ok
}

// At returns what holds at an instant. An event holds from its effective time
// on, that instant included; of events with equal times, the last.
func (t *Timeline) At(at int64) *Span { return &t.Spans[t.Index(at)] }

// Index is the place of the span that holds at an instant among Spans.
func (t *Timeline) Index(at int64) int {
	i := sort.Search(len(t.Spans), func(i int) bool { return t.Spans[i].From > at })
	return max(i-1, 0)
}

// Now returns what holds after the last event.
func (t *Timeline) Now() *Span { return &t.Spans[len(t.Spans)-1] }

// Session returns a session by id, nil when it was never opened.
func (t *Timeline) Session(id string) *Session { return t.sessions[id] }

// Trial returns a trial by id, nil when it was never started.
func (t *Timeline) Trial(id string) *Trial { return t.trials[id] }

// Overlay returns what was said of a shot; the zero Overlay when nothing was.
func (t *Timeline) Overlay(id event.ShotID) Overlay {
	if o := t.Overlays[id]; o != nil {
		return *o
	}
	return Overlay{}
}

// MovedInto lists the shots that were moved into trials of a session.
func (t *Timeline) MovedInto(s *Session) []event.ShotID { return t.movedIn[s] }

// Around returns the stay that holds at an instant, or the gap between two.
func (t *Timeline) Around(at int64) (s *Stay, from, to int64) {
	i := sort.Search(len(t.Stays), func(i int) bool { return t.Stays[i].From > at })
	from, to = math.MinInt64, Never
	if i < len(t.Stays) {
		to = t.Stays[i].From
	}
	// Stays do not overlap, so only the last one begun can hold; one of no length
	// may stand behind it at the same instant.
	for j := i - 1; j >= 0; j-- {
		if at < t.Stays[j].To {
			return t.Stays[j], t.Stays[j].From, t.Stays[j].To
		}
		from = max(from, t.Stays[j].To)
		if t.Stays[j].From < t.Stays[j].To {
			break
		}
	}
	return nil, from, to
}

// Latest returns the session that held last up to an instant among those that
// fit (nil: all); nil: none did.
func (t *Timeline) Latest(at int64, fits func(*Session) bool) *Session {
	for i := t.Index(at); i >= 0; i-- {
		if s := t.Spans[i].Session; s != nil && (fits == nil || fits(s)) {
			return s
		}
	}
	return nil
}

// BallOf names the ball that a trial was hit with last; empty: nobody said which.
func (t *Timeline) BallOf(trial string) (ball string) {
	for i := range t.Spans {
		if s := &t.Spans[i]; s.Trial != nil && s.Trial.ID == trial {
			ball = strings.TrimSpace(s.setting.BallModel + " " + s.setting.BallClass)
		}
	}
	return ball
}

// Shown says whether a session is for people to see where it was entered: it took
// some time, and was there.
func (s *Session) Shown() bool { return s.From < s.To && s.MovedTo == "" }
