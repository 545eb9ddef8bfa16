package sink

import (
	"fairlead/ingest/event"
	"fairlead/processors/shot"
	"fairlead/processors/tag"
)

// frame is what a tag says about reading directions.
func frame(t tag.Tag) shot.Frame {
	f := shot.Frame{Left: t.Hand == event.Hand_HAND_LEFT}
	if t.Setting.TargetBearing.Known {
		f.BearingDeg = t.Setting.TargetBearing.Value
	}
	return f
}

// values are a shot's values in the target frame; those of a paired entry of a
// second device fill in what the first did not give.
func (w *Worker) values(k tag.Key, t tag.Tag) (shot.Values, *event.Entry) {
	h, ok := w.facts.get(k)
	if !ok {
		return shot.Values{}, &event.Entry{}
	}
	e := h.entry
	if t.PairedWith != (tag.Key{}) && t.Status != tag.Paired {
		if second, ok := w.facts.get(t.PairedWith); ok {
			e = merged(e, second.entry)
		}
	}
	return shot.Of(e, frame(t)), h.entry
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
