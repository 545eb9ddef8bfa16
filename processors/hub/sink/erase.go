package sink

import (
	"context"
	"fairlead/ingest/contract/event"
)

// asKept is how events are stored: those of a session whose player asked to be
// forgotten without their words, and with an erasure all events of its session
// once more, so that what is left of them takes the place of what they said.
func (w *Worker) asKept(events []*event.VisitEvent) []*event.VisitEvent {
	var out []*event.VisitEvent // nil: as they are
	done := map[string]bool{}
	add := func(i int, ev *event.VisitEvent) {
		if out == nil {
			out = append(out, events[:i]...)
		}
		out = append(out, ev)
	}
	for i, ev := range events {
		known := w.bay.Log().Event(ev.Id)
		switch {
		case ev.GetSessionErased() != nil && !done[ev.Session]:
			done[ev.Session] = true
			add(i, ev)
			for _, o := range w.bay.Log().All() {
				if o.Session == ev.Session && o.GetErased() {
					add(i, o)
				}
			}
		case known.GetErased() && !ev.GetErased():
			add(i, known)
		case out != nil:
			out = append(out, ev)
		}
	}
	if out == nil {
		return events
	}
	return out
}

// unfinished lists erasures whose sessions the store still shows: a predecessor
// took them and died before it had written the rows again.
func (w *Worker) unfinished(ctx context.Context) ([]*event.VisitEvent, error) {
	bySession := map[string]*event.VisitEvent{}
	for _, ev := range w.bay.Log().All() {
		if ev.GetSessionErased() != nil {
			bySession[ev.Session] = ev
		}
	}
	if len(bySession) == 0 {
		return nil, nil
	}
	shown, err := w.store.Unerased(ctx, w.place)
	if err != nil {
		return nil, err
	}
	var out []*event.VisitEvent
	for _, id := range shown {
		if ev := bySession[id]; ev != nil {
			out = append(out, ev)
		}
	}
	return out, nil
}
