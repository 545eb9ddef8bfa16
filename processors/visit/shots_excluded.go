package visit

import (
	"fmt"

	"fairlead/ingest/contract/event"
)

var _ = kind(Kind{
	Name: "shots_excluded", Bears: OnShots, Keeps: []string{"shot_ids"},
	Acts: []Act{{
		Name: "exclude", Short: "Leave shots out, with a reason", Example: "exclude --bay north 12 --reason 'mishit, not the club'",
		Fields: []Field{{Name: "shot", Arg: 1, Rest: true, Shots: true, Help: "shots"}, {Name: "reason", Help: "why (needed)"}},
		read: func(r *Reader, ev *event.VisitEvent) {
			ev.Body = &event.VisitEvent_ShotsExcluded{ShotsExcluded: &event.ShotsExcluded{ShotIds: r.shots(), Reason: r.Text("reason")}}
		},
	}},
	check: func(c *event.Check, ev *event.VisitEvent) {
		s := ev.GetShotsExcluded()
		c.Shots(s.GetShotIds(), 1)
		if s.GetReason() == "" {
			c.Add("reason", "", "missing", "say why the shots are left out")
		}
		c.Text("reason", s.GetReason(), event.LongestText)
	},
	later: func(f *folder, ev *event.VisitEvent, said Said) {
		s := ev.GetShotsExcluded()
		f.shots(ev, s.GetShotIds(), func(o *Overlay) { o.Excluded = &Excluded{said, true, s.GetReason()} })
	},
	says: func(_ *Teller, ev *event.VisitEvent) string {
		s := ev.GetShotsExcluded()
		return fmt.Sprintf("%s left out: %s", shotCount(len(s.GetShotIds())), s.GetReason())
	},
})
