package export

import (
	"bytes"
	"encoding/json"
	"fmt"
	"testing"

	"fairlead/ingest/contract/event"
)

// A verdict says who fitted, its order, and what came of that; what was taken back
// does not count.
func testVerdictsSayWhatCameOfThem(t *testing.T, x world) {
	said := int64(0)
	say := func(ev *event.VisitEvent) string {
		said++
		ev.Contract, ev.Studio, ev.Bay, ev.Visit, ev.Session, ev.Journal = 1, place.Studio, place.Bay, "v1", "s1", "c"
		ev.Id, ev.Seq, ev.EffectiveUnixNs, ev.RecordedUnixNs = fmt.Sprintf("o%d", said), uint64(said), said*1e9, said*1e9
		check(t, x.Store.InsertEvents(t.Context(), []*event.VisitEvent{ev}))
		return ev.Id
	}
	moved := func(s event.OrderState) string {
		return say(&event.VisitEvent{Body: &event.VisitEvent_OrderMoved{OrderMoved: &event.OrderMoved{Order: "HR2", State: s}}})
	}
	built := func(club string, j event.BuiltJudgement) string {
		return say(&event.VisitEvent{Body: &event.VisitEvent_ClubBuilt{ClubBuilt: &event.ClubBuilt{Order: "HR2", Club: club, Judgement: j}}})
	}
	void := func(id string) string {
		return say(&event.VisitEvent{Body: &event.VisitEvent_Voided{Voided: &event.Voided{Event: id}}})
	}
	is := func(when, want string) {
		t.Helper()
		var text bytes.Buffer
		_, err := x.Write(t.Context(), &text, Request{Table: "verdicts", Studio: place.Studio}, NDJSON, nil)
		check(t, err)
		var row struct {
			Fitter, Delivered          string
			Outcome                    string `json:"order_outcome"`
			Order                      string `json:"order_number"`
			Reworked, Remade, Returned int
		}
		check(t, json.Unmarshal(text.Bytes(), &row))
		if got := fmt.Sprint(row.Fitter, " ", row.Order, " ", row.Outcome, " ", row.Delivered[:4], row.Delivered[17:19], " ", row.Reworked,
			row.Remade, row.Returned); got != want {
			t.Errorf("%s: %s, not %s", when, got, want)
		}
	}
	is("no order", "f-bo   197000 0 0 0")
	say(&event.VisitEvent{Body: &event.VisitEvent_OrderPlaced{OrderPlaced: &event.OrderPlaced{Order: "HR2", Verdict: "e3"}}})
	is("placed", "f-bo HR2 ordered 197000 0 0 0")
	built("7i", event.BuiltJudgement_BUILT_REWORK)
	built("7i", event.BuiltJudgement_BUILT_PASSED)
	ready := moved(event.OrderState_ORDER_READY)
	is("ready", "f-bo HR2 ready 197000 1 0 0")
	taken := void(ready)
	is("taken back", "f-bo HR2 ordered 197000 1 0 0")
	void(taken)
	is("and that too", "f-bo HR2 ready 197000 1 0 0")
	moved(event.OrderState_ORDER_DELIVERED)
	is("delivered", fmt.Sprintf("f-bo HR2 delivered 1970%02d 1 0 0", said))
	at := said
	built("7i", event.BuiltJudgement_BUILT_RETURNED)
	is("came back", fmt.Sprintf("f-bo HR2 returned 1970%02d 1 0 1", at))
	built("7i", event.BuiltJudgement_BUILT_REMAKE)
	built("8i", event.BuiltJudgement_BUILT_PASSED)
	is("made anew", fmt.Sprintf("f-bo HR2 remade 1970%02d 1 1 1", at))
	built("7i", event.BuiltJudgement_BUILT_PASSED)
	is("good again", fmt.Sprintf("f-bo HR2 delivered 1970%02d 1 1 1", at))
	moved(event.OrderState_ORDER_CANCELLED)
	is("cancelled", fmt.Sprintf("f-bo HR2 cancelled 1970%02d 1 1 1", at))
}
