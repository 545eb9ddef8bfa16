package audit

import (
	"testing"

	"github.com/cespare/xxhash/v2"
	"google.golang.org/protobuf/proto"

	"fairlead/ingest/contract/event"
	"fairlead/processors/hub/gap"
	"fairlead/processors/hub/store"
	"fairlead/processors/visit"
)

const console = "00000000000000cc"

func said(id string, seq uint64) *event.VisitEvent {
	return &event.VisitEvent{Contract: 1, Studio: "harbour-row", Bay: "north", Id: id, Session: "s", Journal: console, Seq: seq,
		EffectiveUnixNs: 1,
		Body:            &event.VisitEvent_ShotsExcluded{ShotsExcluded: &event.ShotsExcluded{Reason: "topped"}}}
}

func rowOfEvent(ev *event.VisitEvent) store.Kept {
	data, _ := proto.MarshalOptions{Deterministic: true}.Marshal(ev)
	return store.Kept{Bay: ev.Bay, Journal: ev.Journal, Seq: ev.Seq, ID: ev.Id, Hash: xxhash.Sum64(data), Erased: ev.Erased}
}

// What the journal holds is compared event by event: one that was said twice or
// erased is as it should be, whatever its number or bytes.
func TestVisitEventsAreHeldAgainstTheirJournal(t *testing.T) {
	t.Parallel()
	changed := said("b", 2)
	changed.GetShotsExcluded().Reason = "other"
	for _, c := range []struct {
		name string
		rows []*event.VisitEvent
		log  []gap.Range
		want []string
	}{
		{"as it should", []*event.VisitEvent{said("a", 1), said("b", 2)}, []gap.Range{{From: 1, To: 3}}, nil},
		{"said twice", []*event.VisitEvent{said("a", 3), said("b", 2)}, []gap.Range{{From: 1, To: 3}}, nil},
		{"erased", []*event.VisitEvent{visit.Erase(said("a", 1)), said("b", 2)}, []gap.Range{{From: 1, To: 3}}, nil},
		{"altered", []*event.VisitEvent{said("a", 1), changed}, []gap.Range{{From: 1, To: 3}}, []string{eventAltered}},
		{"missing", []*event.VisitEvent{said("a", 1)}, []gap.Range{{From: 1, To: 3}}, []string{eventMissing}},
		{"forged beyond the end", []*event.VisitEvent{said("a", 1), said("b", 2), said("c", 9)}, []gap.Range{{From: 1, To: 3}},
			[]string{eventForged}},
		{"beyond the end of a disk that was set back", []*event.VisitEvent{said("a", 1), said("b", 2), said("c", 9)},
			[]gap.Range{{From: 1, To: 9}}, nil},
		{"not in the log", []*event.VisitEvent{said("a", 1), said("b", 2)}, []gap.Range{{From: 1, To: 1}}, []string{eventUnlogged}},
	} {
		t.Run(c.name, func(t *testing.T) {
			held := heldEvents{map[string]uint64{console: 3}, map[number]*event.VisitEvent{}, map[string][]*event.VisitEvent{}}
			for _, ev := range []*event.VisitEvent{said("a", 1), said("b", 2), said("a", 3)} {
				held.byNumber[number{console, ev.Seq}] = ev
				held.byID["north/"+ev.Id] = append(held.byID["north/"+ev.Id], ev)
			}
			var rows []store.Kept
			for _, ev := range c.rows {
				rows = append(rows, rowOfEvent(ev))
			}
			var found []string
			for _, trouble := range held.compare(rows, map[string]gap.Ranges{console: c.log}) {
				found = append(found, trouble.kind)
			}
			if len(found) != len(c.want) || len(found) > 0 && found[0] != c.want[0] {
				t.Errorf("found %v, want %v", found, c.want)
			}
		})
	}
}
