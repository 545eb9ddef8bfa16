package visit

import "fairlead/ingest/contract/event"

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
