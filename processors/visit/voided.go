package visit

import "fairlead/ingest/contract/event"

var _ = kind(Kind{
	Name: "voided", Bears: OnSpan | OnShots | OnTrial | OnRows | OnPages, Abroad: true, Keeps: []string{"event"},
	Acts: []Act{{
		Name: "undo", Short: "Take an event back (default: the last one); taking a taking-back back brings the event back",
		Example: "undo --bay north",
		Fields:  []Field{{Name: "event", Arg: 1, Optional: true, Help: "event"}, {Name: "reason", Help: "why"}},
		read: func(r *Reader, ev *event.VisitEvent) {
			v := &event.Voided{Event: r.Text("event"), Reason: r.Text("reason")}
			if v.Event == "" {
				if last := Last(r.Place.Live); last != nil {
					v.Event = last.Id
				} else {
					r.Bad("event", "", "bay "+r.Place.Bay+" has no event to take back", "")
				}
			}
			ev.Body = &event.VisitEvent_Voided{Voided: v}
		},
	}},
	check: func(c *event.Check, ev *event.VisitEvent) {
		c.ID("event", ev.GetVoided().GetEvent(), false)
		if ev.GetVoided().GetEvent() == ev.Id && ev.Id != "" {
			c.Add("event", ev.Id, "takes itself back", "name the event to take back")
		}
		c.Text("reason", ev.GetVoided().GetReason(), event.LongestText)
	},
	fits: func(p *Place, ev *event.VisitEvent) *event.Fault {
		if id := ev.GetVoided().GetEvent(); p.Event != nil && p.Event(id) == nil {
			return event.NewFault("event", id, "is no event of bay "+p.Bay, "name an event as `fairlead visit log` lists them")
		}
		return nil
	},
	says: says("taken back"),
})

// ofBay says whether an event is the hand's in the bay: what a program wrote down by
// itself, what is of the shelf and what has a page of its own are not its to take back.
func ofBay(ev *event.VisitEvent) bool {
	k := KindOf(ev)
	return k != nil && len(k.Acts) > 0 && !k.Studio && !k.Apart
}

// Hand lists those of a bay's events that Undo in the bay may take back.
func Hand(live []*event.VisitEvent) (out []*event.VisitEvent) {
	for _, ev := range live {
		if ofBay(ev) {
			out = append(out, ev)
		}
	}
	return out
}

// Last is the event of those given that was recorded last by the hand in the bay.
// nil: there is none.
func Last(live []*event.VisitEvent) (last *event.VisitEvent) {
	for _, ev := range live {
		if !ofBay(ev) {
			continue
		}
		if last == nil || ev.RecordedUnixNs >= last.RecordedUnixNs {
			last = ev
		}
	}
	return last
}

// voided returns the ids that are taken back by a void that is itself in
// force, and the voids that have no effect because they void one another in a
// circle. An erasure can't be taken back: what it took out is gone.
//
// A void has one target, so the voids form chains: one that nobody voids is in
// force and takes its target back; a void that was taken back does nothing, so
// its own target stands unless another void hits it. Resolving from the ends
// of the chains leaves circles only.
func voided(all []*event.VisitEvent) (dead map[string]bool, circles []*event.VisitEvent) {
	dead = map[string]bool{}
	target := map[string]string{}
	waiting := map[string]int{} // voids on this id whose own fate is open
	final := map[string]bool{}
	for _, ev := range all {
		final[ev.Id] = ev.GetSessionErased() != nil
	}
	for _, ev := range all {
		if v := ev.GetVoided(); v != nil {
			target[ev.Id] = v.Event
			waiting[v.Event]++
		}
	}
	var ready []string
	for id := range target {
		if waiting[id] == 0 {
			ready = append(ready, id)
		}
	}
	settled := map[string]bool{}
	for len(ready) > 0 {
		id := ready[len(ready)-1]
		ready = ready[:len(ready)-1]
		if settled[id] {
			continue
		}
		settled[id] = true
		hit := target[id]
		waiting[hit]--
		if !dead[id] && !final[hit] {
			dead[hit] = true
		}
		if _, isVoid := target[hit]; isVoid && !settled[hit] && (dead[hit] || waiting[hit] == 0) {
			ready = append(ready, hit)
		}
	}
	for _, ev := range all {
		if ev.GetVoided() != nil && !settled[ev.Id] {
			circles = append(circles, ev)
		}
	}
	return dead, circles
}

// Redoable is the taking-back that was made last and may be taken back itself:
// nothing else was entered by a person since. nil: there is none.
func Redoable(all []*event.VisitEvent) (redo *event.VisitEvent) {
	dead, _ := voided(all)
	byID := map[string]*event.VisitEvent{}
	var entered int64 // when something else was entered last
	for _, ev := range all {
		byID[ev.Id] = ev
		if ofBay(ev) && ev.GetVoided() == nil && !dead[ev.Id] {
			entered = max(entered, ev.RecordedUnixNs)
		}
	}
	for _, ev := range all {
		target := byID[ev.GetVoided().GetEvent()]
		if ev.GetVoided() == nil || dead[ev.Id] || target == nil || target.GetVoided() != nil || !ofBay(target) ||
			!dead[target.Id] || ev.RecordedUnixNs < entered {
			continue
		}
		if redo == nil || ev.RecordedUnixNs > redo.RecordedUnixNs {
			redo = ev
		}
	}
	return redo
}
