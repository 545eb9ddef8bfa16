package visit

import (
	"slices"
	"strings"

	"fairlead/ingest/contract/event"
	"fairlead/processors/visit/stock"
)

// take finds what an order takes of the studio's catalogue: what fits a club by
// its model, and what somebody chose. What the catalogue says of a head's metal
// and how far it may be bent goes along where the form says nothing of it.
func (r *Reader) take(d *Draft) {
	said := r.chosen(d)
	if r.Place.Shelf == nil {
		return
	}
	for _, c := range d.Placed.Clubs {
		needs := r.Place.Shelf.Needs(c, said[c.GetName()])
		d.Needs = append(d.Needs, needs)
		d.Placed.Parts = append(d.Placed.Parts, needs.Parts()...)
		for _, n := range needs.Kinds {
			if n.Kind == event.PartKind_PART_HEAD && n.Taken != nil {
				c.Metal = nonEmpty(c.Metal, n.Taken.GetMetal())
				if c.BendLimitDeg == 0 {
					c.BendLimitDeg = n.Taken.GetBendLimitDeg()
				}
			}
		}
	}
}

// chosen are the parts that were chosen for a club: CLUB.KIND=CODE, or a grid's
// fields take.CLUB.KIND.
func (r *Reader) chosen(d *Draft) map[string]map[event.PartKind]string {
	out := map[string]map[event.PartKind]string{}
	add := func(club, kind, code string) {
		k := event.PartKind(event.PartKind_value["PART_"+strings.ToUpper(kind)])
		switch {
		case k == event.PartKind_PART_NONE || !slices.Contains(d.Asked.Clubs, club):
			r.Bad("take", club+"."+kind, "names no part of a club of this order", "write CLUB.KIND=CODE, such as 7i.head=SK2-7")
		case code != "-" && r.Place.Shelf != nil && r.Place.Shelf.Part(code) == nil:
			r.Bad("take", code, "is no part of the catalogue", "choose one of the list, or list it first")
		case code != "-" && r.Place.Shelf != nil && r.Place.Shelf.Part(code).GetKind() != k:
			r.Bad("take", code, "is "+stock.KindWord(r.Place.Shelf.Part(code).GetKind())+", not "+kind, "choose one of the list")
		default:
			if out[club] == nil {
				out[club] = map[event.PartKind]string{}
			}
			out[club][k] = code
		}
	}
	for _, text := range r.Texts("take") {
		at, code, _ := strings.Cut(text, "=")
		club, kind, _ := strings.Cut(at, ".")
		add(strings.TrimSpace(club), strings.TrimSpace(kind), strings.TrimSpace(code))
	}
	for _, club := range d.Asked.Clubs {
		for _, k := range stock.Kinds() {
			if code := r.Text("take." + club + "." + stock.KindWord(k)); code != "" {
				add(club, stock.KindWord(k), code)
			}
		}
	}
	return out
}
