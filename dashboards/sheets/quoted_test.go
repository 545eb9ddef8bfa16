package sheets

import (
	"testing"

	"fairlead/ingest/contract/event"
	"fairlead/processors/golf/club/order"
	"fairlead/processors/visit"
)

// What an order costs stands on the player's paper while it stands, in kinds of parts.
func TestAnOrderIsQuoted(t *testing.T) {
	log, n := &visit.Log{}, int64(0)
	say := func(ev *event.VisitEvent) {
		n++
		ev.Id, ev.Bay, ev.Session, ev.Visit, ev.EffectiveUnixNs = string(rune('a'+n)), "north", "s1", "v1", n
		log.Add(ev)
	}
	number := order.NumberFrom("e", 0)
	part := func(club, code string, kind event.PartKind, price int64) *event.OrderedPart {
		return &event.OrderedPart{Club: club, Code: code, Kind: kind, Price: price, Currency: "EUR"}
	}
	say(&event.VisitEvent{Body: &event.VisitEvent_SessionOpened{SessionOpened: &event.SessionOpened{Player: "p-1", Category: "iron"}}})
	say(&event.VisitEvent{Body: &event.VisitEvent_OrderPlaced{OrderPlaced: &event.OrderPlaced{Order: number,
		Clubs: []*event.OrderedClub{{Name: "6i"}, {Name: "7i"}, {Name: "pw"}},
		Parts: []*event.OrderedPart{part("6i", "H-6", event.PartKind_PART_HEAD, 9500), part("7i", "H-7", event.PartKind_PART_HEAD, 9500),
			part("6i", "S", event.PartKind_PART_SHAFT, 4200), part("7i", "S", event.PartKind_PART_SHAFT, 4200),
			part("7i", "W", event.PartKind_PART_WORK, 0)}}}})
	all := quoted(log.Timeline(), "s1")
	if len(all) != 1 {
		t.Fatalf("%d quotes", len(all))
	}
	q := all[0]
	want := "Order " + order.Label(number) + ", 6i, 7i and pw: 274.00 EUR (without 1 piece of no known price; " +
		"without pw, of which nothing is in the catalogue)"
	if q.In() != want || len(q.Lines) != 3 || q.Lines[0] != (QuotedLine{"heads", 2, "95.00 EUR", "190.00 EUR"}) || q.Lines[2].What != "work" {
		t.Errorf("%s\n%s\n%+v", q.In(), want, q.Lines)
	}
	if all := quoted(log.Timeline(), "s2"); len(all) != 0 {
		t.Errorf("another session's quote: %+v", all)
	}
	say(&event.VisitEvent{Body: &event.VisitEvent_OrderMoved{OrderMoved: &event.OrderMoved{Order: number,
		State: event.OrderState_ORDER_CANCELLED}}})
	if all := quoted(log.Timeline(), "s1"); len(all) != 0 {
		t.Errorf("a cancelled order is quoted: %+v", all)
	}
}
