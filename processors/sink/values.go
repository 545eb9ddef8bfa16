package sink

import (
	"fmt"

	"fairlead/ingest/event"
	"fairlead/processors/shot"
	"fairlead/processors/tag"
)

// frame is what a tag says about reading directions.
func frame(t *tag.Tag) shot.Frame {
	f := shot.Frame{Left: t.Hand == event.Hand_HAND_LEFT}
	if t.Setting.TargetBearing.Known {
		f.BearingDeg = t.Setting.TargetBearing.Value
	}
	return f
}

// read gives a card its values in the target frame under a tag; those
// of a paired entry of a second device fill in what the first did not give.
// Reading may compute a flight, and a session is gone through at each of its
// shots, so it is done again only when the tag wants another reading.
func (w *Worker) read(c *card, t *tag.Tag) error {
	var second tag.Key
	if t.Status != tag.Paired {
		second = t.PairedWith
	}
	as := frame(t)
	if c.values != nil && c.readAs == as && c.readFor == second {
		return nil
	}
	given := c.line.Given
	if second != (tag.Key{}) {
		other, ok := w.bay.Note(second).(*card)
		if !ok {
			return fmt.Errorf("entry %s, the other view of %s, is not held", second, c.key)
		}
		given = given.Filled(other.line.Given)
	}
	v := shot.Read(given, as)
	c.values, c.readAs, c.readFor = &v, as, second
	return nil
}
