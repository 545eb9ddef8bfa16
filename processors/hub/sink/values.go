package sink

import (
	"context"
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
func (w *Worker) read(ctx context.Context, c *card, t *tag.Tag) error {
	var second *card
	if t.Status != tag.Paired && t.PairedWith != (tag.Key{}) {
		var err error
		if second, err = w.otherView(ctx, t.PairedWith); err != nil {
			return err
		}
		if second == nil {
			w.log.Error("a shot's other view is neither held nor stored: the shot counts by the one that is there",
				"journal", c.key.Journal, "seq", c.key.Seq, "other", t.PairedWith.String())
		}
	}
	as := frame(t)
	if c.values != nil && c.readAs == as && c.readFor == second {
		return nil
	}
	if c.entry == nil {
		return nil // its line is nowhere for the moment: what was read of it stands
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

// otherView is the card of a paired entry, which the tagger holds; if it does not,
// a card of what is stored, and nil where nothing is: one shot must not stop a bay.
func (w *Worker) otherView(ctx context.Context, k tag.Key) (*card, error) {
	if second, _ := w.bay.Note(k).(*card); second != nil {
		return second, w.fetch(ctx, []*card{second})
	}
	lines, err := w.store.Of(ctx, w.place, []event.ShotID{k.ID})
	if err != nil {
		return nil, err
	}
	var made cards
	for i := range lines {
		if fact, c := made.make(&lines[i], 1); fact.Key == k {
			return c, nil
		}
	}
	return nil, nil
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
