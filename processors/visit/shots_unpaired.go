package visit

import "fairlead/ingest/contract/event"

var _ = kind(Kind{
	Name: "shots_unpaired", Bears: OnShots, Keeps: []string{"shot_ids"},
	Acts: []Act{{
		Name: "unpair", Short: "Take apart shots of two devices that were paired as one hit", Example: "unpair --bay north 12",
		Fields: []Field{{Name: "shot", Arg: 1, Rest: true, Shots: true, Help: "shots"}},
		read: func(r *Reader, ev *event.VisitEvent) {
			ev.Body = &event.VisitEvent_ShotsUnpaired{ShotsUnpaired: &event.ShotsUnpaired{ShotIds: r.shots()}}
		},
	}},
	check: func(c *event.Check, ev *event.VisitEvent) { c.Shots(ev.GetShotsUnpaired().GetShotIds(), 1) },
	later: func(f *folder, ev *event.VisitEvent, _ Said) {
		f.shots(ev, ev.GetShotsUnpaired().GetShotIds(), func(o *Overlay) { o.Unpaired = true })
	},
	says: func(_ *Teller, ev *event.VisitEvent) string {
		return shotCount(len(ev.GetShotsUnpaired().GetShotIds())) + " taken apart"
	},
})
