package visit

import "fairlead/ingest/contract/event"

// A club is often collected in another bay than it was fitted in, months later:
// what is said here bears on the verdict wherever that stands.
var _ = kind(Kind{
	Name: "hit_checked", Bears: OnRows, Abroad: true, Keeps: []string{"verdict", "trial"}, needs: needsLatest,
	Acts: []Act{{
		Name: "check", Short: "Say that a delivered club was hit in a trial and measured",
		Example: "check --bay north 01b2 t-0f3a --measured loft=31.2deg",
		Fields: append([]Field{
			{Name: "verdict", Arg: 1, Help: "id of the verdict, which is the order's number"},
			{Name: "trial", Arg: 2, Help: "trial that holds the shots"},
			{Name: "words", Help: "in words"},
		}, buildFields()...),
		read: func(r *Reader, ev *event.VisitEvent) {
			ev.Body = &event.VisitEvent_HitChecked{HitChecked: &event.HitChecked{
				Verdict: r.Text("verdict"), Trial: r.Text("trial"), Words: r.Text("words"), Build: r.amendedBuild(r.Text("trial")),
			}}
		},
	}},
	check: func(c *event.Check, ev *event.VisitEvent) {
		h := ev.GetHitChecked()
		c.ID("verdict", h.GetVerdict(), false)
		c.ID("trial", h.GetTrial(), false)
		c.Text("words", h.GetWords(), event.LongestText)
		c.Build("build", h.GetBuild())
	},
	later: func(f *folder, ev *event.VisitEvent, _ Said) {
		if s := f.sessionOf(ev); s != nil {
			s.Checks = append(s.Checks, Check{ev.Id, ev.EffectiveUnixNs, ev.Who, ev.GetHitChecked()})
		}
	},
	trial: func(ev *event.VisitEvent) string { return ev.GetHitChecked().GetTrial() },
	says:  says("delivered club checked"),
})
