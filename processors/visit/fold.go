package visit

import (
	"fmt"
	"math"
	"slices"

	"fairlead/ingest/contract/event"
)

// folder is the state of a fold. The first pass walks the live events in order
// and cuts time into spans; the second applies what was said later about
// sessions, trials and shots, which may precede in time what it speaks of.
type folder struct {
	log     *Log
	t       *Timeline
	now     Span
	running map[*event.VisitEvent]*Trial // trial meant by an event that names none
	erased  []*Session
}

func fold(l *Log) *Timeline {
	all := l.order
	f := &folder{
		log: l,
		t: &Timeline{
			Events: l.Len(), Overlays: map[event.ShotID]*Overlay{},
			sessions: map[string]*Session{}, trials: make(map[string]*Trial, l.trials),
			movedIn: map[*Session][]event.ShotID{}, seen: seenBounds(all),
		},
		now:     Span{From: math.MinInt64, setting: &Setting{}},
		running: map[*event.VisitEvent]*Trial{},
	}
	f.t.Spans = append(f.t.Spans, f.now)
	dead, circles := voided(all)
	for _, ev := range circles {
		f.odd(ev, "voids that take one another back have no effect")
	}
	for _, ev := range all {
		if v := ev.GetVoided(); v != nil && l.Event(v.Event) == nil {
			f.odd(ev, "takes back event %q, which is not in the log", v.Event)
		} else if v != nil && l.Event(v.Event).GetSessionErased() != nil {
			f.odd(ev, "takes back an erasure, which can't be taken back; ignored")
		}
		if n := len(*l.byID[ev.Id]); n > 1 {
			f.odd(ev, "%d different events have this id; the earliest counts", n)
		}
	}
	events := live(all, dead)
	f.t.Spans = slices.Grow(f.t.Spans, len(events))
	for _, ev := range events {
		if ev.Contract > event.Contract {
			f.odd(ev, "written by a later version (contract %d); update this program", ev.Contract)
		}
		f.step(ev)
	}
	for rank, ev := range events {
		f.overlay(ev, rank)
	}
	for _, s := range f.erased {
		f.erase(s)
	}
	f.resolveMoves()
	l.trials = len(f.t.trials)
	return f.t
}

// odd lists an event that did not fit.
func (f *folder) odd(ev *event.VisitEvent, format string, args ...any) {
	f.t.Oddities = append(f.t.Oddities, Oddity{Event: ev.Id, At: ev.EffectiveUnixNs, Text: fmt.Sprintf(format, args...)})
}

// step applies one event to the state and begins a span where it changed.
func (f *folder) step(ev *event.VisitEvent) {
	before := f.now
	switch body := ev.Body.(type) {
	case *event.VisitEvent_SessionOpened:
		f.open(ev, body.SessionOpened)
	case *event.VisitEvent_SessionClosed:
		if f.inSession(ev, "closed") {
			f.close(ev.EffectiveUnixNs)
		}
	case *event.VisitEvent_SettingChanged:
		if next := f.now.setting.with(body.SettingChanged); next != *f.now.setting {
			f.now.setting = &next
		}
	case *event.VisitEvent_TrialStarted:
		if f.inSession(ev, "trial started") {
			f.start(ev, body.TrialStarted)
		}
	case *event.VisitEvent_TrialPaused:
		if f.inSession(ev, "paused") {
			f.now.Paused = true
		}
	case *event.VisitEvent_TrialResumed:
		if f.inSession(ev, "resumed") {
			if !f.now.Paused {
				f.odd(ev, "resumed what was not paused")
			}
			f.now.Paused = false
		}
	case *event.VisitEvent_TrialEnded:
		if f.inSession(ev, "trial ended") {
			if f.now.Trial == nil {
				f.odd(ev, "ended a trial while none ran")
			}
			f.end(ev.EffectiveUnixNs)
		}
	case *event.VisitEvent_HitterChanged:
		if h := body.HitterChanged; f.inSession(ev, "hitter changed") {
			f.now.Hitter, f.now.HitterID, f.now.HitterHand = h.Kind, h.Hitter, h.Hand
		}
	case *event.VisitEvent_InstructionNoted:
		if f.inSession(ev, "instruction noted") {
			f.instruct(ev, body.InstructionNoted)
		}
	case *event.VisitEvent_IntentChanged:
		if f.inSession(ev, "intent changed") {
			f.now.Intent = body.IntentChanged.Intent
		}
	case *event.VisitEvent_ClassChanged:
		if c := body.ClassChanged; len(c.ShotIds) == 0 && f.inSession(ev, "class changed") {
			f.now.Class, f.now.ClassLength = c.Class, c.LengthM
		}
	case *event.VisitEvent_BuildAmended, *event.VisitEvent_FeelNoted:
		f.running[ev] = f.now.Trial
	case nil:
		f.odd(ev, "says nothing that this program knows")
	}
	if f.now != before {
		f.now.From = ev.EffectiveUnixNs
		f.t.Spans = append(f.t.Spans, f.now)
	}
}

// inSession says whether the event speaks of the open session.
func (f *folder) inSession(ev *event.VisitEvent, what string) bool {
	switch s := f.now.Session; {
	case s == nil:
		f.odd(ev, "%s while no session was open; ignored", what)
		return false
	case ev.Session != "" && ev.Session != s.ID:
		f.odd(ev, "%s in session %q while %q was open; ignored", what, ev.Session, s.ID)
		return false
	}
	return true
}

func (f *folder) open(ev *event.VisitEvent, o *event.SessionOpened) {
	id := ev.Session
	if id == "" {
		id = ev.Id
		f.odd(ev, "opened a session without an id; it takes the event's")
	}
	if f.t.sessions[id] != nil {
		f.odd(ev, "opened session %q a second time; ignored", id)
		return
	}
	f.close(ev.EffectiveUnixNs)
	s := &Session{
		ID: id, Visit: ev.Visit, From: ev.EffectiveUnixNs, To: Never,
		Player: o.Player, Hand: o.Hand, Category: o.Category, Fitter: o.Fitter, Aim: o.Aim,
		Consent: o.PoolingConsent, Minor: o.Minor,
	}
	f.t.sessions[id] = s
	f.t.Sessions = append(f.t.Sessions, s)
	f.now.Session = s
}

// close ends the session and all that holds in it; the setting is the bay's
// and stays.
func (f *folder) close(at int64) {
	f.end(at)
	if f.now.Session != nil {
		f.now.Session.To = at
	}
	f.now = Span{From: f.now.From, setting: f.now.setting}
}

func (f *folder) start(ev *event.VisitEvent, s *event.TrialStarted) {
	id := s.Trial
	if id == "" {
		id = ev.Id
		f.odd(ev, "started a trial without an id; it takes the event's")
	}
	known := f.t.trials[id]
	switch {
	case known == nil:
	case known.Session != f.now.Session:
		f.odd(ev, "started trial %q, which is of another session; the shots are nobody's", id)
		f.end(ev.EffectiveUnixNs)
		return
	case known == f.now.Trial:
		f.odd(ev, "started trial %q, which ran already", id)
		f.now.Paused = false
		return
	default:
		f.odd(ev, "started trial %q a second time; it goes on as a further part", id)
	}
	f.end(ev.EffectiveUnixNs)
	trial := known
	if trial == nil {
		build := s.Build
		if build == nil {
			build = noBuild
		}
		session := f.now.Session
		trial = &Trial{
			ID: id, Session: session, Number: len(session.Trials) + 1, From: ev.EffectiveUnixNs,
			Build: build, BuildKey: f.log.buildKey(build), Stated: build,
		}
		f.t.trials[id] = trial
		session.Trials = append(session.Trials, trial)
	}
	trial.To = Never
	f.now.Trial = trial
	f.part(trial, ev.EffectiveUnixNs)
}

// noBuild stands for one that nobody gave: nothing is known.
var noBuild = &event.Build{}

// part begins a further part of a trial under the present instruction.
func (f *folder) part(trial *Trial, at int64) {
	trial.Parts = append(trial.Parts, Part{len(trial.Parts) + 1, at, f.now.Instruction, f.now.InstructionKind})
	f.now.Part = len(trial.Parts)
}

func (f *folder) end(at int64) {
	if f.now.Trial != nil {
		f.now.Trial.To = at
	}
	f.now.Trial, f.now.Part, f.now.Paused = nil, 0, false
}

// erase leaves of a session when and where it was, what kind of club it was
// about, and the order of its trials. The log holds no more of it either, but
// that its events were erased one by one must not show.
func (f *folder) erase(s *Session) {
	*s = Session{ID: s.ID, Visit: s.Visit, From: s.From, To: s.To, Category: s.Category, Fitter: s.Fitter, Erased: true, MovedTo: s.MovedTo, Trials: s.Trials}
	for _, t := range s.Trials {
		t.Build, t.BuildKey, t.Stated, t.Feels = noBuild, f.log.buildKey(noBuild), noBuild, nil
		for i := range t.Parts {
			t.Parts[i].Instruction = ""
		}
	}
	for i := range f.t.Spans {
		if f.t.Spans[i].Session == s {
			f.t.Spans[i].Instruction = ""
			f.t.Spans[i].HitterID, f.t.Spans[i].HitterHand = "", event.Hand_HAND_UNKNOWN
		}
	}
}

func (f *folder) instruct(ev *event.VisitEvent, i *event.InstructionNoted) {
	f.now.Instruction, f.now.InstructionKind = i.Words, i.Kind
	f.now.Instructions++
	if f.now.Trial != nil {
		f.part(f.now.Trial, ev.EffectiveUnixNs)
	}
}
