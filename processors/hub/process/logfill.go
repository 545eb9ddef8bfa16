package process

import (
	"context"
	"time"

	"fairlead/ingest/log/stream"
	"fairlead/processors/hub/gap"
)

// due is a comparison that is to be made.
type due struct {
	since time.Time // what was counted before says nothing
	lost  bool      // something is known to be missing
}

// compareAfterBreaks has the log compared at the start, and when the broker was away.
func (w *logWatch) compareAfterBreaks() {
	lives := w.nc.Stats().Reconnects
	if w.started && lives == w.lives {
		return
	}
	w.started, w.lives = true, lives
	for _, name := range []string{stream.Shots, stream.Visits} {
		w.compare(name, false)
	}
}

// compare has all journals compared with a stream; lost: something is missing.
func (w *logWatch) compare(name string, lost bool) {
	places := map[stream.Place]due{}
	add := func(p stream.Place) {
		places[p] = due{time.Now(), lost || w.due[name][p].lost}
	}
	if name == stream.Visits {
		add(stream.Place{Studio: w.studio, Bay: ConsoleBay})
	} else {
		for _, p := range w.bays {
			add(p)
		}
		for _, j := range w.gaps.Journals() {
			if j.Place.Bay != ConsoleBay {
				add(j.Place)
			}
		}
	}
	w.due[name] = places
	w.unfilled.WithLabelValues(name).Set(float64(w.lost(name)))
}

// lost counts the owners of journals that are known to have to fill in a stream.
func (w *logWatch) lost(name string) (n int) {
	for _, d := range w.due[name] {
		if d.lost {
			n++
		}
	}
	return n
}

// fill has the journals of bays that are heard of publish again what is stored
// and not in the log any more. A bay that is silent stays due.
func (w *logWatch) fill(ctx context.Context, name string) error {
	if len(w.due[name]) == 0 {
		return nil
	}
	known := map[stream.Place]map[string]gap.Journal{}
	for key, j := range w.gaps.Journals() {
		if known[key.Place] == nil {
			known[key.Place] = map[string]gap.Journal{}
		}
		known[key.Place][key.Journal] = j
	}
	for place, d := range w.due[name] {
		subject := place.ShotsSubject()
		if name == stream.Visits {
			subject = stream.Place{Studio: place.Studio, Bay: "*"}.VisitsSubject()
		}
		heard := false
		for _, j := range known[place] {
			heard = heard || j.Counted.After(d.since)
		}
		if !heard {
			continue
		}
		held, err := gap.InLog(ctx, w.js, name, subject)
		if err != nil {
			return err
		}
		whole := true
		for id, j := range known[place] {
			var missing gap.Ranges
			for _, r := range j.Stored {
				for _, m := range held[id].Missing(max(r.From, j.State.First), r.To) {
					missing.Add(m.From, m.To)
				}
			}
			for _, q := range j.State.Quarantined {
				missing.Remove(q.From, q.To)
			}
			if len(missing) > 0 {
				whole = false
				if !d.lost {
					d.lost = true
					w.due[name][place] = d
					w.alarms.WithLabelValues(name).Inc()
				}
				w.log.Warn("the log lacks what is stored, asking for it", "stream", name, "bay", place.Bay, "journal", id, "entries", missing.Count())
				w.gaps.Repair(ctx, place, id, missing)
			}
		}
		if whole {
			delete(w.due[name], place)
			if d.lost {
				w.log.Info("the log holds again what is stored", "stream", name, "bay", place.Bay)
			}
		}
		w.unfilled.WithLabelValues(name).Set(float64(w.lost(name)))
	}
	return nil
}
