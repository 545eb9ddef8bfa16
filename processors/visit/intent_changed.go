package visit

import "fairlead/ingest/contract/event"

var _ = kind(Kind{
	Name: "intent_changed", Bears: OnSpan, Keeps: []string{"intent"}, needs: needsOpen,
	Acts: []Act{{
		Name: "intent", Short: "Say with what intent is hit from here on", Example: "intent --bay north full-effort",
		Fields: []Field{{Name: "intent", Arg: 1, Choices: words("INTENT_", event.Intent_name), Help: "the intent"}},
		read: func(r *Reader, ev *event.VisitEvent) {
			ev.Body = &event.VisitEvent_IntentChanged{IntentChanged: &event.IntentChanged{Intent: event.Intent(r.choice("intent", "INTENT_",
				event.Intent_value, -1))}}
		},
	}},
	check: func(c *event.Check, ev *event.VisitEvent) {
		c.Choice("intent", int32(ev.GetIntentChanged().GetIntent()), event.Intent_name)
	},
	step: func(f *folder, ev *event.VisitEvent) {
		if f.inSession(ev, "intent changed") {
			f.now.Intent = ev.GetIntentChanged().GetIntent()
		}
	},
	says: func(_ *Teller, ev *event.VisitEvent) string {
		return "intent: " + spaced(ev.GetIntentChanged().GetIntent().String(), "INTENT_")
	},
})
