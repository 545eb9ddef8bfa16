package sink

import (
	"fmt"

	"fairlead/ingest/contract/event"
	"fairlead/processors/visit/shot"
	"fairlead/processors/visit/tag"
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
	var second *card
	if t.Status != tag.Paired && t.PairedWith != (tag.Key{}) {
		second, _ = w.bay.Note(t.PairedWith).(*card)
		if second == nil {
			return fmt.Errorf("entry %s, the other view of %s, is not held", t.PairedWith, c.key)
		}
	}
	as := frame(t)
	if c.values != nil && c.readAs == as && c.readFor == second {
		return nil
	}
	given, err := c.readings()
	if err != nil {
		return err
	}
	if second != nil {
		more, err := second.readings()
		if err != nil {
			return err
		}
		given = given.Filled(more)
	}
	v := shot.Read(given, as)
	c.values, c.readAs, c.readFor, c.given = &v, as, second, nil
	return nil
}

// readings are what the device gave; nothing of an entry that was erased.
func (c *card) readings() (event.Readings, error) {
	switch {
	case c.given != nil:
		return *c.given, nil
	case c.bytes == nil:
		return event.Readings{}, nil
	}
	l, err := event.NewReader().Read(c.bytes)
	if err != nil {
		return event.Readings{}, fmt.Errorf("entry %s: %w", c.key, err)
	}
	return l.Given, nil
}
