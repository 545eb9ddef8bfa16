package sink

import (
	"time"

	"fairlead/ingest/event"
	"fairlead/processors/rolling"
	"fairlead/processors/shot"
	"fairlead/processors/tag"
)

// snapshot is what the live page shows, taken by the worker's goroutine.
func (w *Worker) snapshot() rolling.Snapshot {
	tl := w.bay.Timeline()
	s := rolling.Snapshot{Studio: w.place.Studio, Bay: w.place.Bay, Timeline: tl, At: time.Now().UnixNano()}
	s.Sensors = w.sensors.readings()
	for _, a := range w.alarms {
		s.Alarms = append(s.Alarms, a.String())
	}
	for _, session := range tl.Sessions {
		if session.From <= s.At && session.From < session.To && session.MovedTo == "" {
			s.Session = session.ID
		}
	}
	if s.Session != "" {
		for _, k := range w.board.inOrder(s.Session) {
			s.Shots = append(s.Shots, w.shown(k))
		}
	}
	for _, k := range w.loose {
		if t, ok := w.board.tags[k]; ok && !t.Status.Ordered() {
			s.Loose = append(s.Loose, w.shown(k))
		}
	}
	return s
}

func (w *Worker) shown(k tag.Key) rolling.Shot {
	t := w.board.tags[k]
	v, e := w.cachedValues(k)
	return rolling.Shot{Key: k, Tag: t, Values: v, Received: e.GetReceivedUnixNs(), Device: e.GetDevice()}
}

// valued are a shot's values under the tag that they were read with.
type valued struct {
	tag    tag.Tag
	values shot.Values
}

// cachedValues are values of an entry under its present tag. Reading an entry
// may compute a flight, and a session is gone through at each of its shots.
func (w *Worker) cachedValues(k tag.Key) (shot.Values, *event.Entry) {
	t := w.board.tags[k]
	t.Version = 0
	if have, ok := w.board.values[k]; ok && have.tag.Hand == t.Hand && have.tag.Setting == t.Setting && have.tag.PairedWith == t.PairedWith {
		h, _ := w.facts.get(k)
		return have.values, h.entry
	}
	v, e := w.values(k, t)
	w.board.values[k] = &valued{t, v}
	return v, e
}
