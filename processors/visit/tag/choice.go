package tag

import (
	"fmt"
	"strings"

	"fairlead/ingest/contract/event"
	"fairlead/processors/visit"
)

// Choice is one way in which a shot of unknown time may belong.
type Choice struct {
	Session, Trial string // empty trial: nobody's
	TrialNumber    int
	Build          string // its name
	At             int64  // the last instant at which it may have been hit so
	Text           string // for people
}

// Choices lists how a shot between two instants, both included, may belong, in
// the order of time. One choice alone means that nothing is in doubt.
func Choices(tl *visit.Timeline, from, to int64) []Choice {
	var out []Choice
	var seen []*visit.Span
next:
	for i := tl.Index(from); i < len(tl.Spans) && tl.Spans[i].From <= to; i++ {
		span := &tl.Spans[i]
		at := to
		if i+1 < len(tl.Spans) && tl.Spans[i+1].From <= to {
			at = tl.Spans[i+1].From - 1
		}
		if at < from || at < span.From { // of no length
			continue
		}
		for j, o := range seen {
			if sameHit(o, span) {
				out[j].At = at
				continue next
			}
		}
		seen, out = append(seen, span), append(out, choice(span, at))
	}
	return out
}

// nobodys says whether a hit of this time is nobody's, whatever it is.
func nobodys(s *visit.Span) bool {
	return s.Session == nil || s.Session.MovedTo != "" || s.Trial == nil || s.Paused
}

// sameHit says whether a hit has the same place whichever of two spans it is of.
func sameHit(a, b *visit.Span) bool {
	if nobodys(a) || nobodys(b) {
		return nobodys(a) && nobodys(b)
	}
	return a.Session == b.Session && a.Trial == b.Trial && a.Part == b.Part &&
		a.Hitter == b.Hitter && a.HitterID == b.HitterID && a.HitterHand == b.HitterHand &&
		a.Intent == b.Intent && a.Class == b.Class && a.ClassLength == b.ClassLength &&
		a.Instruction == b.Instruction && a.InstructionKind == b.InstructionKind && a.Instructions == b.Instructions &&
		a.SameSetting(b)
}

// doubtful says whether a hit between two instants has several possible places.
func doubtful(tl *visit.Timeline, from, to int64) bool {
	first := (*visit.Span)(nil)
	for i := tl.Index(from); i < len(tl.Spans) && tl.Spans[i].From <= to; i++ {
		span := &tl.Spans[i]
		if i+1 < len(tl.Spans) && tl.Spans[i+1].From <= max(span.From, from) {
			continue // of no length
		}
		if first != nil && !sameHit(first, span) {
			return true
		}
		first = span
	}
	return false
}

func choice(s *visit.Span, at int64) Choice {
	c := Choice{At: at}
	if s.Session != nil && s.Session.MovedTo == "" {
		c.Session = s.Session.ID
	}
	switch {
	case c.Session == "":
		c.Text = "nobody's: no session"
	case s.Paused:
		c.Text = "nobody's: paused"
	case s.Trial == nil:
		c.Text = "nobody's: no trial"
	default:
		c.Trial, c.TrialNumber, c.Build = s.Trial.ID, s.Trial.Number, s.Trial.Build.GetName()
		c.Text = fmt.Sprintf("trial %d", c.TrialNumber)
		if s.Part > 1 {
			c.Text += fmt.Sprintf(", part %d", s.Part)
		}
		switch s.Hitter {
		case event.HitterKind_HITTER_FITTER:
			c.Text += ", hit by the fitter"
		case event.HitterKind_HITTER_GUEST:
			c.Text += ", hit by a guest"
		}
	}
	return c
}

// ask leaves a hit open whose time is between two builds, or anything else that
// decides what it means: it is in no statistic until someone says.
func ask(tl *visit.Timeline, h *hit) {
	t := &h.tag
	choices := Choices(tl, h.lo, h.hi)
	t.Status = Between
	t.Situation = &Situation{}
	var texts []string
	for _, c := range choices {
		if s := tl.Session(c.Session); s != nil {
			t.Situation = &Situation{Visit: s.Visit, Session: s.ID, Category: s.Category, Fitter: s.Fitter}
		}
		if c.Trial == "" && len(choices) > 2 {
			continue // said in the end
		}
		texts = append(texts, c.Text)
	}
	const most = 4
	if n := len(texts); n > most {
		texts = append([]string{fmt.Sprintf("%d others", n-most+1)}, texts[n-most+1:]...)
	}
	t.Reason = "its time is not known well enough: " + strings.Join(texts, " or ")
}

// erasedWithin returns a session between two instants whose player asked to be
// forgotten; nil: there is none. A line that may be such a player's is not kept.
func erasedWithin(tl *visit.Timeline, w when) *visit.Session {
	if w.known() {
		return nil
	}
	for i := tl.Index(w.lo); i < len(tl.Spans) && tl.Spans[i].From <= w.hi; i++ {
		if s := tl.Spans[i].Session; s != nil && s.Erased && s.MovedTo == "" {
			return s
		}
	}
	return nil
}

// instant is as when a moved hit counts: what was said, or the last moment in
// its trial, within what is known of its time.
func instant(tl *visit.Timeline, h *hit, m *visit.Moved, trial *visit.Trial) int64 {
	if h.lo == h.hi {
		return h.at
	}
	if m.At != 0 {
		return min(max(m.At, h.lo), h.hi)
	}
	if trial == nil {
		return h.at
	}
	at, found := h.at, false
	for _, c := range Choices(tl, h.lo, h.hi) {
		if c.Trial == trial.ID && (!found || c.At > at) {
			at, found = c.At, true
		}
	}
	return at
}
