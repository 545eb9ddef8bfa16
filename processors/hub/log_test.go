package hub

import (
	"fairlead/ingest/event"
	"fairlead/processors/visit"
)

func logOf(events []*event.VisitEvent) *visit.Log {
	l := &visit.Log{}
	for _, ev := range events {
		l.Add(ev)
	}
	return l
}
