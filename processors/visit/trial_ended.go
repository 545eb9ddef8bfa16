package visit

import "fairlead/ingest/contract/event"

var _ = kind(Kind{
	Name: "trial_ended", Bears: OnSpan, needs: needsTrial,
	Acts: []Act{{
		Name: "end", Short: "End the trial that runs", Example: "end --bay north",
		read: func(_ *Reader, ev *event.VisitEvent) {
			ev.Body = &event.VisitEvent_TrialEnded{TrialEnded: &event.TrialEnded{}}
		},
	}},
	step: func(f *folder, ev *event.VisitEvent) {
		if f.inSession(ev, "trial ended") {
			if f.now.Trial == nil {
				f.odd(ev, "ended a trial while none ran")
			}
			f.end(ev.EffectiveUnixNs)
		}
	},
	says: says("trial ended"),
})

func (f *folder) end(at int64) {
	if f.now.Trial != nil {
		f.now.Trial.To = at
	}
	f.now.Trial, f.now.Part, f.now.Paused = nil, 0, false
}
