package sink

import (
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
	e := c.entry
	if second != (tag.Key{}) {
		other, err := w.facts.get(second)
		if err != nil {
			return err
		}
		e = merged(e, other.entry)
	}
	v := shot.Of(e, as)
	c.values, c.readAs, c.readFor = &v, as, second
	return nil
}

// merged is an entry with the measures of a second one that it lacks. Neither
// is changed.
func merged(first, second *event.Entry) *event.Entry {
	out := &event.Entry{Measures: append([]*event.Measure(nil), first.Measures...)}
	for _, m := range second.Measures {
		if first.Measure(m.Field) == nil {
			out.Measures = append(out.Measures, m)
		}
	}
	return out
}
