package visit

import "fairlead/ingest/contract/event"

var _ = kind(Kind{
	Name: "trial_paused", Bears: OnSpan, needs: needsTrial,
	Acts: []Act{{
		Name: "pause", Short: "Pause: shots are nobody's until a trial goes on", Example: "pause --bay north",
		read: func(_ *Reader, ev *event.VisitEvent) {
			ev.Body = &event.VisitEvent_TrialPaused{TrialPaused: &event.TrialPaused{}}
		},
	}},
	step: func(f *folder, ev *event.VisitEvent) {
		if f.inSession(ev, "paused") {
			f.now.Paused = true
		}
	},
	says: says("paused"),
})
