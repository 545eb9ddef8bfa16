package visit

import (
	"fmt"

	"fairlead/ingest/contract/event"
)

var _ = kind(Kind{
	Name: "shots_moved", Bears: OnShots, Keeps: []string{"shot_ids", "trial", "at_unix_ns"},
	Acts: []Act{{
		Name: "move", Short: "Put shots into another trial", Example: "move --bay north 12-14 --to t-0f3a",
		Fields: []Field{
			{Name: "shot", Arg: 1, Rest: true, Shots: true, Help: "shots"},
			{Name: "trial", Flag: "to", Help: "trial's id"},
			{Name: "as", Help: "as when they count, of shots whose time is not known: a time of `between`, Unix nanoseconds"},
			{Name: "nobody", Flag: "to-nobody", Help: "out of all trials", Yes: true},
		},
		read: func(r *Reader, ev *event.VisitEvent) {
			to, nobody := r.Text("trial"), r.Yes("nobody")
			if to == "nobody" {
				to, nobody = "", true
			}
			if nobody == (to != "") {
				r.Bad("trial", to, "none is chosen", "choose where the shots belong: one trial (--to), or nobody (--to-nobody)")
			}
			ev.Body = &event.VisitEvent_ShotsMoved{ShotsMoved: &event.ShotsMoved{ShotIds: r.shots(), Trial: to, AtUnixNs: r.instant("as")}}
		},
	}},
	check: func(c *event.Check, ev *event.VisitEvent) {
		c.Shots(ev.GetShotsMoved().GetShotIds(), 1)
		c.ID("trial", ev.GetShotsMoved().GetTrial(), true)
		if at := ev.GetShotsMoved().GetAtUnixNs(); at < 0 {
			c.Add("as", fmt.Sprint(at), "before 1970", "give a time that was offered for the shots, or none")
		}
	},
	later: func(f *folder, ev *event.VisitEvent, said Said) {
		m := ev.GetShotsMoved()
		if id := m.GetTrial(); id != "" && f.t.trials[id] == nil {
			f.odd(ev, "moved shots to trial %q, which nobody started; they stay where they were", id)
			return
		}
		f.shots(ev, m.GetShotIds(), func(o *Overlay) { o.Moved = &Moved{said, m.GetTrial(), m.GetAtUnixNs()} })
	},
	trial: func(ev *event.VisitEvent) string { return ev.GetShotsMoved().GetTrial() },
	says: func(t *Teller, ev *event.VisitEvent) string {
		m := ev.GetShotsMoved()
		return fmt.Sprintf("%s moved to %s", shotCount(len(m.GetShotIds())), t.trial(m.GetTrial()))
	},
})
