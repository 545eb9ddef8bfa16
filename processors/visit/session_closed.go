package visit

import "fairlead/ingest/contract/event"

var _ = kind(Kind{
	Name: "session_closed", Bears: OnSpan, needs: needsOpen,
	Acts: []Act{{
		Name: "close", Short: "Close the bay's session", Example: "close --bay north",
		read: func(_ *Reader, ev *event.VisitEvent) {
			ev.Body = &event.VisitEvent_SessionClosed{SessionClosed: &event.SessionClosed{}}
		},
	}},
	step: func(f *folder, ev *event.VisitEvent) {
		if f.inSession(ev, "closed") {
			f.close(ev.EffectiveUnixNs)
		}
	},
	says: says("session closed"),
})

// close ends the session and all that holds in it; the setting is the bay's
// and stays. Sessions that rest beside it go on resting.
func (f *folder) close(at int64) {
	f.end(at)
	if s := f.now.Session; s != nil {
		s.To = at
		if len(f.resting) == 0 {
			s.Stay.To = at
		}
	}
	f.now = Span{SpanWords: SpanWords{From: f.now.From}, setting: f.now.setting}
}
