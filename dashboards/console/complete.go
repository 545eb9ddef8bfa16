package console

import (
	"time"

	"fairlead/ingest/contract/event"
	"fairlead/processors/visit"
)

// complete fills in what the sender left open: who writes where and when is
// known here, and which session is meant follows from the bay's events. Ids of
// what an event begins are derived from the event's own, so that the same event
// sent again begins the same.
func (w *Writer) complete(bay string, ev *event.VisitEvent, now time.Time) {
	ev.Contract, ev.Studio, ev.Bay, ev.Journal, ev.Seq = event.Contract, w.studio, bay, "", 0
	if ev.Id == "" {
		ev.Id = event.NewID(now)
	}
	ev.RecordedUnixNs = now.UnixNano()
	if w.clock != nil {
		ev.Boot, ev.MonoNs = w.clock.Boot(), int64(w.clock.Since())
	}
	if ev.EffectiveUnixNs == 0 {
		ev.EffectiveUnixNs = now.UnixNano()
	}
	if o := ev.GetSessionOpened(); o != nil {
		if ev.Session == "" {
			ev.Session = derived("s", ev.Id)
		}
		if ev.Visit == "" {
			ev.Visit = w.visitOf(o.Player, ev)
		}
		return
	}
	if t := ev.GetTrialStarted(); t != nil && t.Trial == "" {
		t.Trial = derived("t", ev.Id)
	}
	s := w.meant(bay, ev)
	if s == nil {
		return
	}
	if ev.Session == "" {
		ev.Session = s.ID
	}
	if ev.Visit == "" && ev.Session == s.ID {
		ev.Visit = s.Visit
	}
}

// meant is the session that an event is about when it names none: that of the
// trial or event that it names, else the one that is open at its time, else,
// for what is said of a session as a whole, the bay's latest.
func (w *Writer) meant(bay string, ev *event.VisitEvent) *visit.Session {
	tl := w.logs[bay].Timeline()
	if ev.Session != "" {
		return tl.Session(ev.Session)
	}
	if t := tl.Trial(named(ev)); t != nil {
		return t.Session
	}
	if v := ev.GetVoided(); v != nil {
		if about := w.logs[bay].Event(v.Event); about != nil {
			return tl.Session(about.Session)
		}
		return nil
	}
	if s := tl.At(ev.EffectiveUnixNs).Session; s != nil {
		return s
	}
	if n := len(tl.Sessions); n > 0 && (ev.GetVerdictGiven() != nil || ev.GetHitChecked() != nil || ev.GetSessionCorrected() != nil) {
		return tl.Sessions[n-1]
	}
	return nil
}

// named is the trial that an event names, empty when it names none.
func named(ev *event.VisitEvent) string {
	switch b := ev.Body.(type) {
	case *event.VisitEvent_BuildAmended:
		return b.BuildAmended.GetTrial()
	case *event.VisitEvent_FeelNoted:
		return b.FeelNoted.GetTrial()
	case *event.VisitEvent_ShotsMoved:
		return b.ShotsMoved.GetTrial()
	case *event.VisitEvent_VerdictGiven:
		return b.VerdictGiven.GetTrial()
	case *event.VisitEvent_HitChecked:
		return b.HitChecked.GetTrial()
	}
	return ""
}

// visitOf is the player's visit of the day in any bay, or a new one.
func (w *Writer) visitOf(player string, ev *event.VisitEvent) string {
	const day = int64(16 * time.Hour)
	for _, l := range w.logs {
		for _, s := range l.Timeline().Sessions {
			if s.Player == player && s.Visit != "" && ev.EffectiveUnixNs-s.From < day && s.From-ev.EffectiveUnixNs < day {
				return s.Visit
			}
		}
	}
	return derived("v", ev.Id)
}

// derived makes an id from another one, within the length that ids may have.
func derived(kind, id string) string {
	out := kind + "-" + id
	if len(out) > 64 {
		out = out[:64]
	}
	return out
}

// fits refuses what the bay's events contradict: what would be ignored when the
// log is folded is better said at once.
func (w *Writer) fits(bay string, ev *event.VisitEvent) error {
	tl := w.logs[bay].Timeline()
	if trial := named(ev); trial != "" && tl.Trial(trial) == nil {
		return refuse("trial", trial, "nobody started a trial of this id in bay "+bay, "name a trial of the bay's page")
	}
	span := tl.At(ev.EffectiveUnixNs)
	switch b := ev.Body.(type) {
	case *event.VisitEvent_SessionOpened:
		if tl.Session(ev.Session) != nil {
			return refuse("session", ev.Session, "was opened before", "give a fresh id, or none")
		}
	case *event.VisitEvent_Voided:
		if w.logs[bay].Event(b.Voided.Event) == nil {
			return refuse("event", b.Voided.Event, "is no event of bay "+bay, "name an event as `fairlead visit log` lists them")
		}
	case *event.VisitEvent_SessionClosed, *event.VisitEvent_TrialStarted, *event.VisitEvent_TrialPaused, *event.VisitEvent_TrialResumed,
		*event.VisitEvent_TrialEnded, *event.VisitEvent_HitterChanged, *event.VisitEvent_InstructionNoted, *event.VisitEvent_IntentChanged:
		if span.Session == nil {
			return refuse("session", ev.Session, "no session is open in bay "+bay, "open one first")
		}
		if ev.Session != span.Session.ID {
			return refuse("session", ev.Session, "the open session is "+span.Session.ID, "leave the session out")
		}
	case *event.VisitEvent_ClassChanged:
		if len(b.ClassChanged.ShotIds) == 0 && span.Session == nil {
			return refuse("session", ev.Session, "no session is open in bay "+bay, "open one first, or name shots")
		}
	case *event.VisitEvent_VerdictGiven:
		if base := b.VerdictGiven.Baseline; base != "" && tl.Trial(base) == nil {
			return refuse("baseline", base, "nobody started a trial of this id in bay "+bay, "name a trial of the bay's page")
		}
	case *event.VisitEvent_SessionCorrected:
		if tl.Session(ev.Session) == nil {
			return refuse("session", ev.Session, "is no session of bay "+bay, "name one as `fairlead visit log` lists them")
		}
	}
	switch b := ev.Body.(type) {
	case *event.VisitEvent_TrialStarted:
		if t := tl.Trial(b.TrialStarted.Trial); t != nil && t.Session.ID != ev.Session {
			return refuse("trial", b.TrialStarted.Trial, "is a trial of another session", "give a fresh id, or none")
		}
	case *event.VisitEvent_TrialPaused, *event.VisitEvent_TrialEnded:
		if span.Trial == nil {
			return refuse("trial", "", "no trial is running", "start one first")
		}
	case *event.VisitEvent_TrialResumed:
		if !span.Paused {
			return refuse("trial", "", "nothing is paused", "start a trial, or go on: it runs")
		}
	}
	return nil
}
