package visit

import (
	"fmt"

	"fairlead/ingest/contract/event"
)

var _ = kind(Kind{
	Name: "trial_started", Bears: OnSpan, Keeps: []string{"trial"}, needs: needsOpen,
	Acts: []Act{{
		Name: "trial", Short: "Start a trial by naming what changed against the build in hand",
		Example: "trial --bay north --set loft=31deg --set length=37.5in",
		Fields: append([]Field{
			{Name: "base", Flag: "from", Help: "trial whose build to start from (default: the one hit last in the session)"},
			{Name: "blank", Help: "start from a build of which nothing is known", Yes: true},
			{Name: "trial", Help: "id of the trial; that of an earlier one goes on with it (default: a fresh one)"},
			{Name: "why", Choices: whyWords, Help: "why this club: advised, the fitter's idea or the player's wish"},
		}, buildFields()...),
		read: func(r *Reader, ev *event.VisitEvent) {
			ev.Body = &event.VisitEvent_TrialStarted{TrialStarted: &event.TrialStarted{Trial: r.Text("trial"), Build: r.nextBuild(),
				Choice: r.why()}}
		},
	}, {
		Name: "draw", Short: "Let the lot say which of several clubs is hit next: no choice of anybody's is in what that shows",
		Example: "draw --bay north --among t-own --among t-long",
		Fields: []Field{{Name: "among", Many: true, Help: "a trial of the session, or a test club of the bay; two or more, each as likely"},
			{Name: "next", Yes: true, Help: "among what is worth hitting next, by what it would teach and gain; near equals only"}},
		read: func(r *Reader, ev *event.VisitEvent) {
			ev.Body = &event.VisitEvent_TrialStarted{TrialStarted: r.draw()}
		},
	}},
	check: func(c *event.Check, ev *event.VisitEvent) {
		t := ev.GetTrialStarted()
		c.ID("trial", t.GetTrial(), false)
		if t.GetBuild() == nil {
			c.Add("build", "", "missing", "give the build, at least its name; what is not known stays out of it")
		}
		c.Build("build", t.GetBuild())
		checkChoice(c, t.GetChoice())
	},
	step: func(f *folder, ev *event.VisitEvent) {
		if f.inSession(ev, "trial started") {
			f.start(ev, ev.GetTrialStarted())
		}
	},
	fits: func(p *Place, ev *event.VisitEvent) *event.Fault {
		id := ev.GetTrialStarted().GetTrial()
		if t := p.Timeline.Trial(id); t != nil && t.Session.ID != ev.Session {
			return event.NewFault("trial", id, "is a trial of another session", "give a fresh id, or none")
		}
		return nil
	},
	says: func(t *Teller, ev *event.VisitEvent) string {
		s := ev.GetTrialStarted()
		text := fmt.Sprintf("%s started: %s", t.trial(s.GetTrial()), nonEmpty(s.GetBuild().GetName(), "unnamed build"))
		if why := WhyText(s.GetChoice()); why != "" {
			text += ", " + why
		}
		return text
	},
})

func (f *folder) start(ev *event.VisitEvent, s *event.TrialStarted) {
	id := s.GetTrial()
	if id == "" {
		id = ev.Id
		f.odd(ev, "started a trial without an id; it takes the event's")
	}
	known := f.t.trials[id]
	switch {
	case known == nil:
	case known.Session != f.now.Session:
		f.odd(ev, "started trial %d of another session; the shots are nobody's", known.Number)
		f.end(ev.EffectiveUnixNs)
		return
	case known == f.now.Trial && s.GetChoice().GetWhy() == event.Why_WHY_DRAWN: // it is its turn again
		f.now.Paused = false
		f.part(known, ev.EffectiveUnixNs, s.GetChoice())
		return
	case known == f.now.Trial:
		f.odd(ev, "started trial %d, which ran already", known.Number)
		f.now.Paused = false
		return
	default: // it goes on as a further part
	}
	f.end(ev.EffectiveUnixNs)
	trial := known
	if trial == nil {
		build := s.GetBuild()
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
	f.part(trial, ev.EffectiveUnixNs, s.GetChoice())
}

// noBuild stands for one that nobody gave: nothing is known.
var noBuild = &event.Build{}

// part begins a further part of a trial under the present instruction.
func (f *folder) part(trial *Trial, at int64, why *event.Choice) {
	trial.Parts = append(trial.Parts, Part{len(trial.Parts) + 1, at, f.now.Instruction, f.now.InstructionKind, why})
	f.now.Part = len(trial.Parts)
}
