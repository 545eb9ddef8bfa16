package tag

import (
	"fmt"

	"fairlead/ingest/contract/event"
	"fairlead/processors/visit"
)

// place gives a hit that is nobody's second view its trial and status. What
// was said of either view of the hit holds for both; the last word counts.
func place(in *situations, h *hit) {
	tl := in.tl
	said := tl.Overlay(h.shot.id)
	if h.second != nil {
		said = later(said, tl.Overlay(h.second.shot.id))
		w := when{h.lo, h.hi, h.at}.both(when{h.second.lo, h.second.hi, h.second.at})
		h.lo, h.hi, h.at = w.lo, w.hi, w.at
	}
	t := &h.tag
	t.At = h.at
	if h.lo < h.hi {
		t.From, t.To = h.lo, h.hi
		gone := erasedWithin(tl, when{h.lo, h.hi, h.at})
		switch {
		case said.Moved != nil:
			h.at = instant(tl, h, said.Moved, tl.Trial(said.Moved.Trial))
			t.At = h.at
		case gone != nil:
			t.Situation = &Situation{Visit: gone.Visit, Session: gone.ID, Category: gone.Category, Fitter: gone.Fitter}
			t.Status, t.Reason, t.Forgotten = Erased, forgotten, true
			return
		case doubtful(tl, h.lo, h.hi):
			ask(tl, h)
			return
		}
	}
	span := in.span(h.at)
	session, trial := span.Session, span.Trial
	if span.Paused {
		trial = nil
	}
	if said.Moved != nil {
		t.Moved = true
		trial = tl.Trial(said.Moved.Trial)
		if trial != nil {
			session = trial.Session
		}
	}
	t.Situation = in.of(span, session, trial, said.Classed, h.at)
	switch {
	case session == nil:
		t.Status, t.Reason = Nobody, "no session was open"
	case session.MovedTo != "":
		t.Status, t.Reason = Nobody, fmt.Sprintf("the session was in bay %s", session.MovedTo)
	case session.Erased:
		t.Status, t.Reason, t.Forgotten = Erased, forgotten, true
		t.Moved = false
	case t.Moved && trial == nil:
		t.Status, t.Reason = Nobody, "taken out of its trial"
	case trial == nil && span.Paused:
		t.Status, t.Reason = Paused, "the session was paused"
	case trial == nil:
		t.Status, t.Reason = Nobody, "no trial ran"
	case t.Hitter != event.HitterKind_HITTER_PLAYER:
		t.Status, t.Reason = OtherHitter, "hit by someone else"
	case said.Excluded != nil && said.Excluded.Out:
		t.Status, t.Reason = Excluded, said.Excluded.Reason
	case t.Class == event.ShotClass_CLASS_PRACTICE:
		t.Status, t.Reason = Practice, "a practice swing"
	case t.Class == event.ShotClass_CLASS_NO_BALL:
		t.Status, t.Reason = NoBall, "swung without a ball"
	default:
		t.Status = Counts
	}
}

// situations makes the situations of hits; hits that follow one another mostly
// share theirs.
type situations struct {
	tl   *visit.Timeline
	at   int // the span looked for last
	last situated
	said *Situation // of last; nil: none yet
}

// situated is what a situation follows from.
type situated struct {
	span    *visit.Span
	session *visit.Session
	trial   *visit.Trial
	part    int
	classed *visit.Classed
}

// span is Timeline.At.
func (in *situations) span(at int64) *visit.Span {
	spans := in.tl.Spans
	if at < spans[in.at].From || in.at+1 < len(spans) && at >= spans[in.at+1].From {
		in.at = in.tl.Index(at)
	}
	return &spans[in.at]
}

// of is the situation of a hit in a span, given to a session and a trial, each
// nil where there is none.
func (in *situations) of(span *visit.Span, session *visit.Session, trial *visit.Trial, classed *visit.Classed, at int64) *Situation {
	from := situated{span: span, session: session, trial: trial, classed: classed}
	if trial != nil {
		from.part = trial.PartAt(at).Number
	}
	if in.said == nil || from != in.last {
		in.last, in.said = from, from.situation()
	}
	return in.said
}

func (f situated) situation() *Situation {
	span, session, trial := f.span, f.session, f.trial
	if session == nil || session.MovedTo != "" {
		return &Situation{Setting: span.Setting()}
	}
	s := &Situation{Visit: session.Visit, Session: session.ID, Category: session.Category, Fitter: session.Fitter}
	if session.Erased {
		return s
	}
	s.Setting = span.Setting()
	if trial == nil {
		return s
	}
	s.Trial, s.TrialNumber, s.BuildKey = trial.ID, trial.Number, trial.BuildKey
	s.Player, s.Minor = session.Player, session.Minor
	s.Part = f.part
	s.Hand = session.Hand
	if session == span.Session { // else it was hit outside of the trial's session: the player's, as usual
		s.Hitter, s.HitterID, s.Hand = span.Hitter, span.HitterID, span.Hand()
		s.Intent, s.Class, s.ClassLength = span.Intent, span.Class, span.ClassLength
		s.Instruction, s.InstructionKind, s.Instructions = span.Instruction, span.InstructionKind, span.Instructions
	}
	if f.classed != nil {
		s.Class, s.ClassLength = f.classed.Class, f.classed.Length
	}
	s.Consent = session.Consent && s.Hitter == event.HitterKind_HITTER_PLAYER
	return s
}

const forgotten = "the player asked to be forgotten"

// forget blanks the tag of an entry that does not stand for a hit, where its
// shot is of an erased session: a line that was read twice is as much the
// player's as the one that counts. What was said of a second device's view of
// the hit is not known here.
func (s *shot) forget(tl *visit.Timeline, t *Tag) {
	w := timeOf(tl, s.first())
	session := tl.At(w.at).Session
	if gone := erasedWithin(tl, w); gone != nil {
		session = gone
	}
	if moved := tl.Overlay(s.id).Moved; moved != nil {
		if trial := tl.Trial(moved.Trial); trial != nil {
			session = trial.Session
		}
	}
	if session == nil || !session.Erased || session.MovedTo != "" {
		return
	}
	t.Forgotten, t.Reason = true, forgotten
	t.Situation = &Situation{Visit: session.Visit, Session: session.ID}
}

// later keeps of two overlays what was said last.
func later(a, b visit.Overlay) visit.Overlay {
	if a.Excluded == nil || b.Excluded != nil && b.Excluded.Rank > a.Excluded.Rank {
		a.Excluded = b.Excluded
	}
	if a.Moved == nil || b.Moved != nil && b.Moved.Rank > a.Moved.Rank {
		a.Moved = b.Moved
	}
	if a.Classed == nil || b.Classed != nil && b.Classed.Rank > a.Classed.Rank {
		a.Classed = b.Classed
	}
	return a
}

// second gives the other view of a hit the place of the first.
func second(h *hit) {
	t := h.primary.tag
	t.Status, t.Reason = Paired, "another device's view of the same hit"
	t.PairedWith = h.primary.fact.Key
	t.OrderInTrial, t.OrderInSession, t.Swap = 0, 0, 0
	h.tag = t
}
