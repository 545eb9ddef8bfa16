package console

import (
	"net/url"
	"strconv"
	"strings"

	"fairlead/ingest/contract/event"
	"fairlead/processors/visit"
)

// posted turns a posted form into an event. What the kinds of events ask for is
// read where they are defined; every form has who enters it and what was last
// seen.
func posted(act string, in url.Values, at *visit.Place) (*event.VisitEvent, []*event.Fault) {
	ev, faults := visit.Read(act, visit.Input(in), at)
	ev.Who = strings.TrimSpace(in.Get("who"))
	if journal, seq, ok := strings.Cut(strings.TrimSpace(in.Get("last_seen")), "/"); ok {
		if n, err := strconv.ParseUint(seq, 10, 64); err == nil && n > 0 {
			ev.LastSeen = &event.Seen{Journal: journal, Seq: n}
		}
	}
	return ev, faults
}
