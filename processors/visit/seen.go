package visit

import (
	"cmp"
	"math"
	"slices"
	"sort"
	"time"

	"fairlead/ingest/contract/event"
)

// Grace is how far an unsure time may lie before an event that had not seen
// the entry and still be believed. A bay out of contact keeps its entries for
// a while, so 'not yet seen' is no proof; but a clock that was set to another
// time zone is off by more than this.
const Grace = 10 * time.Minute

// bounds are what the events' last seen entries say of one journal.
type bounds struct {
	seqs     []uint64 // last seen, ascending
	notAfter []int64  // least recorded time of seqs[i:]
	after    []int64  // greatest recorded time of seqs[:i+1]
}

// seenBounds collects them from all events: a voided event saw what it saw.
func seenBounds(all []*event.VisitEvent) map[string]*bounds {
	type sight struct {
		seq      uint64
		recorded int64
	}
	sights := map[string][]sight{}
	for _, ev := range all {
		if s := ev.LastSeen; s != nil && s.Journal != "" {
			sights[s.Journal] = append(sights[s.Journal], sight{s.Seq, ev.RecordedUnixNs})
		}
	}
	found := make(map[string]*bounds, len(sights))
	for journal, list := range sights {
		slices.SortFunc(list, func(a, b sight) int {
			return cmp.Or(cmp.Compare(a.seq, b.seq), cmp.Compare(a.recorded, b.recorded))
		})
		b := &bounds{make([]uint64, len(list)), make([]int64, len(list)), make([]int64, len(list))}
		latest, earliest := int64(math.MinInt64), int64(math.MaxInt64)
		for i, s := range list {
			latest = max(latest, s.recorded)
			b.seqs[i], b.after[i] = s.seq, latest
		}
		for i := len(list) - 1; i >= 0; i-- {
			earliest = min(earliest, list[i].recorded)
			b.notAfter[i] = earliest
		}
		found[journal] = b
	}
	return found
}

// Place returns when an entry of an unsure time counts as hit. The events name
// the last entry on the fitter's screen: an entry up to that one was hit
// before the event was recorded; a later one, when its own time lies more than
// Grace before, was hit after. Without such events its own time stands.
func (t *Timeline) Place(journal string, seq uint64, effective int64) int64 {
	b := t.seen[journal]
	if b == nil {
		return effective
	}
	i := sort.Search(len(b.seqs), func(i int) bool { return b.seqs[i] >= seq })
	if i > 0 && effective < b.after[i-1]-int64(Grace) {
		effective = b.after[i-1]
	}
	if i < len(b.seqs) && effective >= b.notAfter[i] {
		effective = b.notAfter[i] - 1
	}
	return effective
}

// SeenBy returns when an event was recorded whose writer had the entry, or a
// later one of its journal, on the screen: it was hit before that. ok is false
// where there is none. Of several the earliest counts.
func (t *Timeline) SeenBy(journal string, seq uint64) (before int64, ok bool) {
	b := t.seen[journal]
	if b == nil {
		return 0, false
	}
	i := sort.Search(len(b.seqs), func(i int) bool { return b.seqs[i] >= seq })
	if i == len(b.seqs) {
		return 0, false
	}
	return b.notAfter[i], true
}
