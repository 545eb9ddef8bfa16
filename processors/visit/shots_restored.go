package visit

import "fairlead/ingest/contract/event"

var _ = kind(Kind{
	Name: "shots_restored", Bears: OnShots, Keeps: []string{"shot_ids"},
	Acts: []Act{{
		Name: "restore", Short: "Take shots back in", Example: "restore --bay north 12",
		Fields: []Field{{Name: "shot", Arg: 1, Rest: true, Shots: true, Help: "shots"}, {Name: "reason", Help: "why"}},
		read: func(r *Reader, ev *event.VisitEvent) {
			ev.Body = &event.VisitEvent_ShotsRestored{ShotsRestored: &event.ShotsRestored{ShotIds: r.shots(), Reason: r.Text("reason")}}
		},
	}},
	check: func(c *event.Check, ev *event.VisitEvent) {
		c.Shots(ev.GetShotsRestored().GetShotIds(), 1)
		c.Text("reason", ev.GetShotsRestored().GetReason(), event.LongestText)
	},
	later: func(f *folder, ev *event.VisitEvent, said Said) {
		s := ev.GetShotsRestored()
		f.shots(ev, s.GetShotIds(), func(o *Overlay) { o.Excluded = &Excluded{said, false, s.GetReason()} })
	},
	says: func(_ *Teller, ev *event.VisitEvent) string {
		return shotCount(len(ev.GetShotsRestored().GetShotIds())) + " taken back in"
	},
})
