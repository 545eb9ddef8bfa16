package sink

import (
	"time"

	"fairlead/processors/visit/rolling"
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
		for _, c := range w.board.inOrder(s.Session) {
			s.Shots = append(s.Shots, c.shown())
		}
	}
	for _, c := range w.loose {
		if c.tag != nil && !c.tag.Status.Ordered() {
			s.Loose = append(s.Loose, c.shown())
		}
	}
	return s
}

func (c *card) shown() rolling.Shot {
	s := rolling.Shot{Key: c.key, Tag: *c.tag, Values: *c.values, Received: c.entry.ReceivedUnixNs, Device: c.entry.Device}
	if c.readFor != nil {
		s.Second = c.readFor.entry.Device
	}
	return s
}
