package visit

import (
	"bytes"
	"cmp"
	"slices"
	"strings"

	"google.golang.org/protobuf/proto"

	"fairlead/ingest/contract/event"
)

// Compare orders events by (effective, recorded, journal, seq, id): the order
// in which they take effect.
func Compare(a, b *event.VisitEvent) int {
	return cmp.Or(
		cmp.Compare(a.EffectiveUnixNs, b.EffectiveUnixNs),
		cmp.Compare(a.RecordedUnixNs, b.RecordedUnixNs),
		strings.Compare(a.Journal, b.Journal),
		cmp.Compare(a.Seq, b.Seq),
		strings.Compare(a.Id, b.Id),
	)
}

// Log is the set of distinct events of one bay. The zero value is empty and
// ready. It keeps the messages it is given: they must not be changed
// afterwards. It is not safe for concurrent use; the timelines it returns are.
type Log struct {
	byID     map[string]*variants
	order    []*event.VisitEvent // that which counts of each id, in order
	distinct int
	keys     map[*event.Build]string // BuildKey of each build; hashing is dear
	trials   int                     // in the last timeline
	erased   map[string]bool         // sessions whose player asked to be forgotten
	timeline *Timeline               // of the present set; nil when events were added since
}

// variants are the contents that arrived under one id, in order; the first
// counts. More than one is a fault of the writer.
type variants []*event.VisitEvent

// Add takes an event and says whether it was new. An event without an id
// counts under the empty one.
func (l *Log) Add(ev *event.VisitEvent) (changed bool) {
	if l.byID == nil {
		l.byID = map[string]*variants{}
	}
	if l.erased[ev.Session] {
		ev = Erase(ev)
	}
	known := l.byID[ev.Id]
	if known == nil {
		known = &variants{}
		l.byID[ev.Id] = known
	}
	at, same := slices.BinarySearchFunc(*known, ev, compareContent)
	if same {
		return false
	}
	if at == 0 {
		if len(*known) > 0 {
			old, _ := slices.BinarySearchFunc(l.order, (*known)[0], Compare)
			l.order = slices.Delete(l.order, old, old+1)
		}
		i, _ := slices.BinarySearchFunc(l.order, ev, Compare)
		l.order = slices.Insert(l.order, i, ev)
	}
	*known = slices.Insert(*known, at, ev)
	l.distinct++
	l.timeline = nil
	if ev.GetSessionErased() != nil && ev.Session != "" && !l.erased[ev.Session] {
		l.erase(ev.Session)
	}
	return true
}

// erase puts what is left of them in place of a session's events, so that
// whoever holds the log holds no more of them. That changes no order and, since
// an event and what is left of it are one fact, no count: only several contents
// of one id may turn out to have been the same.
func (l *Log) erase(session string) {
	if l.erased == nil {
		l.erased = map[string]bool{}
	}
	l.erased[session] = true
	for id, v := range l.byID {
		var kept variants
		for _, ev := range *v {
			if ev.Session == session {
				ev = Erase(ev)
			}
			if at, same := slices.BinarySearchFunc(kept, ev, compareContent); !same {
				kept = slices.Insert(kept, at, ev)
			}
		}
		l.distinct -= len(*v) - len(kept)
		l.byID[id] = &kept
	}
	for i, ev := range l.order {
		if ev.Session == session {
			l.order[i] = (*l.byID[ev.Id])[0]
		}
	}
}

// compareContent orders events of one id; equal means the same content.
func compareContent(a, b *event.VisitEvent) int {
	if a == b {
		return 0
	}
	if c := Compare(a, b); c != 0 {
		return c
	}
	if a.Erased != b.Erased || proto.Equal(a, b) {
		return 0 // an event and what is left of it are one fact
	}
	marshal := proto.MarshalOptions{Deterministic: true}
	x, _ := marshal.Marshal(a)
	y, _ := marshal.Marshal(b)
	return bytes.Compare(x, y)
}

// Len is the number of distinct facts known, voids and voided ones included. It
// grows with every event that Add reports as new and depends on nothing else.
func (l *Log) Len() int { return l.distinct }

// Without returns the log less the events of these ids.
func (l *Log) Without(ids map[string]bool) *Log {
	less := &Log{byID: map[string]*variants{}, keys: l.keys}
	for _, ev := range l.order {
		if !ids[ev.Id] {
			less.order = append(less.order, ev)
		}
	}
	for id, v := range l.byID {
		if !ids[id] {
			kept := slices.Clone(*v)
			less.byID[id] = &kept
			less.distinct += len(kept)
		}
	}
	return less
}

// Event returns the event of an id, nil when it is not known.
func (l *Log) Event(id string) *event.VisitEvent {
	if v := l.byID[id]; v != nil {
		return (*v)[0]
	}
	return nil
}

// All returns the events in order, voided ones and voids included.
func (l *Log) All() []*event.VisitEvent {
	return slices.Clone(l.order)
}

// Events returns the live events in order: those that were not taken back,
// and no voids.
func (l *Log) Events() []*event.VisitEvent {
	dead, _ := voided(l.order)
	return live(l.order, dead)
}

func live(all []*event.VisitEvent, dead map[string]bool) []*event.VisitEvent {
	kept := make([]*event.VisitEvent, 0, len(all))
	for _, ev := range all {
		if ev.GetVoided() == nil && !dead[ev.Id] {
			kept = append(kept, ev)
		}
	}
	return kept
}

// Timeline folds the log. It is remembered until an event is added.
func (l *Log) Timeline() *Timeline {
	if l.timeline == nil {
		l.timeline = fold(l)
	}
	return l.timeline
}

// buildKey is event.BuildKey, remembered.
func (l *Log) buildKey(b *event.Build) string {
	key, ok := l.keys[b]
	if !ok {
		key = event.BuildKey(b)
		if l.keys == nil {
			l.keys = map[*event.Build]string{}
		}
		l.keys[b] = key
	}
	return key
}
