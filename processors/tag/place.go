package tag

import (
	"fmt"

	"fairlead/ingest/event"
	"fairlead/processors/visit"
)

// place gives a hit that is nobody's second view its trial and status. What
// was said of either view of the hit holds for both; the last word counts.
func place(tl *visit.Timeline, h *hit) {
	span := tl.At(h.at)
	said := tl.Overlay(h.shot.id)
	if h.second != nil {
		said = later(said, tl.Overlay(h.second.shot.id))
	}
	t := &h.tag
	t.At = h.at
	t.Setting = span.Setting()

	session, trial, paused := span.Session, span.Trial, span.Paused
	if said.Moved != nil {
		t.Moved = true
		trial, paused = tl.Trial(said.Moved.Trial), false
		if trial != nil {
			session = trial.Session
		}
	}
	if session == nil {
		t.Status, t.Reason = Nobody, "no session was open"
		return
	}
	if session.MovedTo != "" {
		t.Status, t.Reason = Nobody, fmt.Sprintf("the session was in bay %s", session.MovedTo)
		return
	}
	t.Visit, t.Session, t.Category, t.Fitter = session.Visit, session.ID, session.Category, session.Fitter
	if session.Erased {
		t.Status, t.Reason, t.Forgotten = Erased, forgotten, true
		t.Moved, t.Setting = false, visit.Setting{}
		return
	}
	switch {
	case t.Moved && trial == nil:
		t.Status, t.Reason = Nobody, "taken out of its trial"
		return
	case paused:
		t.Status, t.Reason = Paused, "the session was paused"
		return
	case trial == nil:
		t.Status, t.Reason = Nobody, "no trial ran"
		return
	}
	t.Trial, t.TrialNumber, t.BuildKey = trial.ID, trial.Number, trial.BuildKey
	t.Player, t.Minor = session.Player, session.Minor
	t.Part = trial.PartAt(h.at).Number
	t.Hand = session.Hand
	if session == span.Session { // else it was hit outside of the trial's session: the player's, as usual
		t.Hitter, t.HitterID, t.Hand = span.Hitter, span.HitterID, span.Hand()
		t.Intent, t.Class, t.ClassLength = span.Intent, span.Class, span.ClassLength
		t.Instruction, t.InstructionKind, t.Instructions = span.Instruction, span.InstructionKind, span.Instructions
	}
	if said.Classed != nil {
		t.Class, t.ClassLength = said.Classed.Class, said.Classed.Length
	}
	t.Consent = session.Consent && t.Hitter == event.HitterKind_HITTER_PLAYER
	switch {
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

const forgotten = "the player asked to be forgotten"

// forget blanks the tag of an entry that does not stand for a hit, where its
// shot is of an erased session: a line that was read twice is as much the
// player's as the one that counts. What was said of a second device's view of
// the hit is not known here.
func (s *shot) forget(tl *visit.Timeline, t *Tag) {
	session := tl.At(placed(tl, s.first())).Session
	if moved := tl.Overlay(s.id).Moved; moved != nil {
		if trial := tl.Trial(moved.Trial); trial != nil {
			session = trial.Session
		}
	}
	if session == nil || !session.Erased || session.MovedTo != "" {
		return
	}
	t.Forgotten, t.Reason = true, forgotten
	t.Visit, t.Session = session.Visit, session.ID
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
