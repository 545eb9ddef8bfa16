package visit

import "fairlead/ingest/contract/event"

var _ = kind(Kind{
	Name: "build_amended", Bears: OnTrial | OnRows, Keeps: []string{"trial"},
	Acts: []Act{{
		Name: "amend", Short: "Correct what a trial's build is, or add what was measured of it, for the whole trial",
		Example: "amend --bay north t-0f3a --measured lie=62deg",
		Fields:  append([]Field{{Name: "base", Arg: 1, Word: "TRIAL", Help: "trial"}}, buildFields()...),
		read: func(r *Reader, ev *event.VisitEvent) {
			if r.Text("base") == "" {
				r.Bad("base", "", "none is chosen", "choose the trial whose build it is")
			}
			ev.Body = &event.VisitEvent_BuildAmended{BuildAmended: &event.BuildAmended{Trial: r.Text("base"), Build: r.amendedBuild(r.Text("base"))}}
		},
	}},
	check: func(c *event.Check, ev *event.VisitEvent) {
		a := ev.GetBuildAmended()
		c.ID("trial", a.GetTrial(), false)
		if a.GetBuild() == nil {
			c.Add("build", "", "missing", "give the whole build as it is")
		}
		c.Build("build", a.GetBuild())
	},
	step: func(f *folder, ev *event.VisitEvent) { f.running[ev] = f.now.Trial },
	later: func(f *folder, ev *event.VisitEvent, _ Said) {
		a := ev.GetBuildAmended()
		if t := f.trialOf(ev, a.GetTrial()); t != nil && a.GetBuild() != nil {
			t.Build, t.BuildKey = a.Build, f.log.buildKey(a.Build)
		}
	},
	trial: func(ev *event.VisitEvent) string { return ev.GetBuildAmended().GetTrial() },
	says: func(t *Teller, ev *event.VisitEvent) string {
		return "build of " + t.trial(ev.GetBuildAmended().GetTrial()) + " corrected"
	},
})
