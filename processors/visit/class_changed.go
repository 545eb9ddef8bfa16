package visit

import (
	"fmt"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/unit"
)

var _ = kind(Kind{
	Name: "class_changed", Bears: OnSpan | OnShots, Keeps: []string{"class", "length_m", "shot_ids"},
	Acts: []Act{{
		Name: "class", Short: "Say what kind of shots these are, or all from here on", Example: "class --bay north practice 4 5",
		Fields: []Field{
			{Name: "class", Arg: 1, Choices: words("CLASS_", event.ShotClass_name), Help: "the kind of shot"},
			{Name: "shot", Arg: 2, Rest: true, Shots: true, Optional: true, Help: "shots"},
			{Name: "length", Help: "intended carry of partial shots", Quantity: unit.Length},
		},
		read: func(r *Reader, ev *event.VisitEvent) { readClass(r, ev, r.someShots()) },
	}, {
		Name: "mark", Short: "Say what kind of shots the tapped ones were",
		Fields: []Field{{Name: "class"}, {Name: "shot", Shots: true}, {Name: "length", Quantity: unit.Length}},
		read:   func(r *Reader, ev *event.VisitEvent) { readClass(r, ev, r.shots()) },
		Page:   true,
	}},
	check: func(c *event.Check, ev *event.VisitEvent) {
		b := ev.GetClassChanged()
		c.Choice("class", int32(b.GetClass()), event.ShotClass_name)
		c.Number("length_m", b.GetLengthM(), 0, 350, "m")
		if b.GetLengthM() > 0 && b.GetClass() != event.ShotClass_CLASS_PARTIAL {
			c.Add("length_m", b.GetLengthM(), "only a partial shot has a length", "leave it out, or give the class partial")
		}
		c.Shots(b.GetShotIds(), 0)
	},
	step: func(f *folder, ev *event.VisitEvent) {
		if c := ev.GetClassChanged(); len(c.GetShotIds()) == 0 && f.inSession(ev, "class changed") {
			f.now.Class, f.now.ClassLength = c.GetClass(), c.GetLengthM()
		}
	},
	later: func(f *folder, ev *event.VisitEvent, said Said) {
		c := ev.GetClassChanged()
		f.shots(ev, c.GetShotIds(), func(o *Overlay) { o.Classed = &Classed{said, c.GetClass(), c.GetLengthM()} })
	},
	fits: func(p *Place, ev *event.VisitEvent) *event.Fault {
		if len(ev.GetClassChanged().GetShotIds()) == 0 && p.Timeline.At(ev.EffectiveUnixNs).Session == nil {
			return event.NewFault("session", ev.Session, "no session is open in bay "+p.Bay, "open one first, or name shots")
		}
		return nil
	},
	says: func(_ *Teller, ev *event.VisitEvent) string {
		c := ev.GetClassChanged()
		class := spaced(c.GetClass().String(), "CLASS_")
		if n := len(c.GetShotIds()); n > 0 {
			return fmt.Sprintf("%s marked as %s", shotCount(n), class)
		}
		return "shots from here on: " + class
	},
})

func readClass(r *Reader, ev *event.VisitEvent, shots [][]byte) {
	c := &event.ClassChanged{Class: event.ShotClass(r.choice("class", "CLASS_", event.ShotClass_value, -1)), ShotIds: shots}
	if n := r.number("length", unit.Length); n != nil {
		c.LengthM = *n
	}
	ev.Body = &event.VisitEvent_ClassChanged{ClassChanged: c}
}
