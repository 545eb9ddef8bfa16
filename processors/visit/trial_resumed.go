package visit

import "fairlead/ingest/contract/event"

var _ = kind(Kind{
	Name: "trial_resumed", Bears: OnSpan, needs: needsPause,
	Acts: []Act{{
		Name: "resume", Short: "Go on with the paused trial", Example: "resume --bay north",
		read: func(_ *Reader, ev *event.VisitEvent) {
			ev.Body = &event.VisitEvent_TrialResumed{TrialResumed: &event.TrialResumed{}}
		},
	}},
	step: func(f *folder, ev *event.VisitEvent) {
		if f.inSession(ev, "resumed") {
			if !f.now.Paused {
				f.odd(ev, "resumed what was not paused")
			}
			f.now.Paused = false
		}
	},
	says: says("resumed"),
})
