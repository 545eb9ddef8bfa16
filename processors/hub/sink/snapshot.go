package sink

import (
	"cmp"
	"maps"
	"slices"
	"strings"

	"fairlead/processors/visit"
	"fairlead/processors/visit/rolling"
)

// maxListed bounds the shots that a bay's state lists: it is one message, and a
// session that nobody closed goes on for ever.
const maxListed = 600

// snapshot is what the live page shows, taken by the worker's goroutine.
func (w *Worker) snapshot() rolling.Snapshot {
	tl := w.bay.Timeline()
	s := rolling.Snapshot{Studio: w.place.Studio, Bay: w.place.Bay, Timeline: tl, At: w.now().UnixNano(), List: maxListed}
	s.Sensors = w.sensors.readings()
	for _, a := range w.alarms {
		s.Alarms = append(s.Alarms, a.String())
	}
	if last := tl.Latest(s.At, (*visit.Session).Shown); last != nil {
		s.Session = last.ID
	}
	if s.Session != "" {
		for _, c := range w.board.inOrder(s.Session) {
			s.Shots = append(s.Shots, c.shown())
		}
	}
	for _, c := range w.loose {
		if c.tag != nil && !c.tag.Status.Ordered() {
			s.Loose = append(s.Loose, c.shown())
		}
	}
	s.Open = w.questions(s.Session)
	return s
}

// questions are the shots that are between two builds, those of the session
// shown first of all; the page has no room for years of them.
func (w *Worker) questions(session string) (open []rolling.Shot) {
	const most = 50
	all := slices.SortedFunc(maps.Keys(w.open), func(a, b *card) int {
		return cmp.Or(cmp.Compare(a.tag.At, b.tag.At), strings.Compare(a.key.Journal, b.key.Journal), cmp.Compare(a.key.Seq, b.key.Seq))
	})
	for _, c := range slices.Backward(all) {
		if c.tag.Session == session && len(open) < most {
			open = append(open, c.shown())
		}
	}
	slices.Reverse(open)
	return open
}

func (c *card) shown() rolling.Shot {
	s := rolling.Shot{Key: c.key, Tag: c.tag, Values: c.values, Received: c.received, Device: c.device}
	if c.readFor != nil {
		s.Second = c.readFor.device
	}
	return s
}
