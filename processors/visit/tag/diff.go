package tag

import (
	"context"
	"math"

	"fairlead/ingest/contract/event"
	"fairlead/processors/visit"
)

// AddEvents takes events and returns the entries whose tags they changed. An
// event known already has its reach tagged again, and all of that is returned:
// its taker may have died before the store had the tags.
func (b *Bay) AddEvents(ctx context.Context, events []*event.VisitEvent) ([]Change, error) {
	if err := b.begin(ctx); err != nil {
		return nil, err
	}
	before := b.tl
	known := map[string]bool{}
	for _, ev := range events {
		if !b.log.Add(ev) {
			known[ev.Id] = true
		}
	}
	after := b.log.Timeline()
	b.tl = after
	if after != before {
		b.rehome()
		b.soil(before)
	}
	if len(known) > 0 {
		b.all = b.soil(b.log.Without(known).Timeline()) || b.all
	}
	return b.settle(ctx)
}

// reach is what differs between two timelines.
type reach struct {
	span  span           // time in which something else holds
	ids   []event.ShotID // shots of which something else was said
	goals []string       // trials that they were or are moved to
}

// sameHolding says whether tagging takes the same from two spans.
func sameHolding(a, b *visit.Span) bool { return a.Holding() == b.Holding() }

// difference finds in what two timelines differ, as far as tags depend on it.
func difference(a, b *visit.Timeline) reach {
	var r reach
	if a == b {
		return r
	}
	head := 0
	for head < len(a.Spans) && head < len(b.Spans) && sameHolding(&a.Spans[head], &b.Spans[head]) {
		head++
	}
	tail := 0
	for tail < len(a.Spans)-head && tail < len(b.Spans)-head &&
		sameHolding(&a.Spans[len(a.Spans)-1-tail], &b.Spans[len(b.Spans)-1-tail]) {
		tail++
	}
	if restA, restB := a.Spans[head:len(a.Spans)-tail], b.Spans[head:len(b.Spans)-tail]; len(restA)+len(restB) > 0 {
		r.span = span{math.MaxInt64, math.MaxInt64}
		for _, rest := range [][]visit.Span{restA, restB} {
			if len(rest) > 0 {
				r.span.from = min(r.span.from, rest[0].From)
			}
		}
		if tail > 0 {
			r.span.to = a.Spans[len(a.Spans)-tail].From
		}
	}
	for id, o := range a.Overlays {
		r.compare(id, *o, b.Overlay(id))
	}
	for id, o := range b.Overlays {
		if a.Overlays[id] == nil {
			r.compare(id, visit.Overlay{}, *o)
		}
	}
	return r
}

func (r *reach) compare(id event.ShotID, a, b visit.Overlay) {
	same := a.Unpaired == b.Unpaired &&
		(a.Excluded == nil) == (b.Excluded == nil) && (a.Moved == nil) == (b.Moved == nil) && (a.Classed == nil) == (b.Classed == nil)
	if same && a.Excluded != nil {
		same = a.Excluded.Event == b.Excluded.Event && a.Excluded.Out == b.Excluded.Out && a.Excluded.Reason == b.Excluded.Reason
	}
	if same && a.Moved != nil {
		same = a.Moved.Event == b.Moved.Event && a.Moved.Trial == b.Moved.Trial
	}
	if same && a.Classed != nil {
		same = a.Classed.Event == b.Classed.Event && a.Classed.Class == b.Classed.Class && a.Classed.Length == b.Classed.Length
	}
	if same {
		return
	}
	r.ids = append(r.ids, id)
	for _, m := range []*visit.Moved{a.Moved, b.Moved} {
		if m != nil && m.Trial != "" {
			r.goals = append(r.goals, m.Trial)
		}
	}
}

// soil marks what differs from another timeline and says whether anything does.
func (b *Bay) soil(before *visit.Timeline) bool {
	r := difference(before, b.tl)
	if r.span != (span{}) {
		// Where a stretch was cut or grew, the rest of it is other than it was.
		from, to := r.span.from, r.span.to
		for _, tl := range []*visit.Timeline{before, b.tl} {
			// Narrow times reach in from a little before and after.
			from = min(from, stretchAt(tl, less(r.span.from, Narrow)).from)
			to = max(to, stretchAt(tl, more(r.span.to, Narrow)).to)
		}
		b.dirty.add(from, to)
	}
	for _, trial := range r.goals {
		for _, tl := range []*visit.Timeline{before, b.tl} {
			if t := tl.Trial(trial); t != nil {
				b.dirty.add(t.Session.From, t.Session.From)
			}
		}
	}
	for _, id := range r.ids {
		b.touched[id] = true
	}
	return b.soilUnsure(before, r.span) || r.span != (span{}) || len(r.ids) > 0
}

// soilUnsure marks entries of unsure or wide time that the events now place
// elsewhere, or within whose time something else holds.
func (b *Bay) soilUnsure(before *visit.Timeline, changed span) (any bool) {
	for _, s := range b.shots {
		for i := range s.facts {
			f := &s.facts[i].Fact
			if !f.roving() {
				continue
			}
			was, is := timeOf(before, f), timeOf(b.tl, f)
			within := changed != (span{}) && changed.from <= max(was.hi, is.hi) && min(was.lo, is.lo) <= changed.to
			if was != is || within && !is.known() {
				b.points = append(b.points, was.at, is.at)
				b.loudly(s)
				any = true
			}
		}
	}
	return any
}

func less(at, by int64) int64 {
	if at < math.MinInt64+by {
		return math.MinInt64
	}
	return at - by
}

func more(at, by int64) int64 {
	if at > math.MaxInt64-by {
		return math.MaxInt64
	}
	return at + by
}
