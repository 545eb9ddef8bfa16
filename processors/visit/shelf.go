package visit

import (
	"cmp"
	"maps"
	"slices"

	"fairlead/ingest/contract/event"
	"fairlead/processors/visit/stock"
)

// taking is what an order takes from the shelf. It outlives the order's session:
// parts that were built in are gone, whoever asked to be forgotten.
type taking struct {
	parts []*event.OrderedPart
	at    int64
	begun int64 // when work on it began; 0: it did not
	over  bool  // cancelled
}

func (f *folder) taken(number string) *taking {
	if f.t.taken == nil {
		f.t.taken = map[string]*taking{}
	}
	if f.t.taken[number] == nil {
		f.t.taken[number] = &taking{}
	}
	return f.t.taken[number]
}

func (t *taking) place(ev *event.VisitEvent) {
	t.parts, t.at = ev.GetOrderPlaced().GetParts(), ev.EffectiveUnixNs
}

func (t *taking) move(ev *event.VisitEvent) {
	state := ev.GetOrderMoved().GetState()
	t.over = state == event.OrderState_ORDER_CANCELLED
	if state >= event.OrderState_ORDER_IN_WORK && !t.over && t.begun == 0 {
		t.begun = ev.EffectiveUnixNs
	}
}

// ShelfOf is the catalogue and shelf of a studio, by the timelines of its bays.
func ShelfOf(bays map[string]*Timeline) *stock.Shelf {
	var said []stock.Said
	all := map[string]taking{}
	for _, bay := range slices.Sorted(maps.Keys(bays)) {
		said = append(said, bays[bay].shelf...)
		for number, t := range bays[bay].taken {
			one := all[number]
			if t.at != 0 {
				one.parts, one.at = t.parts, t.at
			}
			one.begun, one.over = cmp.Or(t.begun, one.begun), one.over || t.over
			all[number] = one
		}
	}
	var uses []stock.Use
	for _, number := range slices.Sorted(maps.Keys(all)) {
		if t := all[number]; len(t.parts) > 0 && (t.begun != 0 || !t.over) {
			uses = append(uses, stock.Use{Order: number, Parts: t.parts, Begun: t.begun != 0, At: cmp.Or(t.begun, t.at)})
		}
	}
	return stock.NewShelf(said, uses)
}

// shelved notes what an event says of the shelf.
func (f *folder) shelved(ev *event.VisitEvent) {
	f.t.shelf = append(f.t.shelf, stock.Said{Event: ev.Id, At: ev.EffectiveUnixNs, Who: ev.Who, Listed: ev.GetPartsListed(),
		Count: ev.GetStockCounted(), Test: ev.GetTestClubPlaced()})
}
