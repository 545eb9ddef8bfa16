package console

import (
	"context"
	"fairlead/ingest/bay/desk"
	"net/http"
	"net/url"
	"slices"
	"testing"
	"time"

	"fairlead/deploy/proof"
	"fairlead/ingest/contract/event"
	"fairlead/processors/golf/club"
	"fairlead/processors/hub/watch"
)

// What every template says is said in words that people know: no names of
// columns, no identities, no values as a program prints them.
func TestPagesSpeakPlainly(t *testing.T) {
	state := watch.State{Looked: time.Now().Add(time.Hour)}
	state.Take([]watch.Alarm{{Where: watch.Broker, What: watch.Stuck, Text: "does not answer within 3s: no bay is heard",
		Severity: watch.Critical}}, time.Now())
	r := newRigOf(t, &rig{ops: &Ops{State: func() (watch.State, error) { return state, nil }, Targets: func() any { return nil }},
		enrol: &Enrol{Deliver: func(context.Context, desk.Client) {}, Join: http.NotFoundHandler(),
			List: func() ([]EnrolledBay, error) {
				return []EnrolledBay{{Name: "quay", Enrolled: "enrolled", Goes: "goes by version 1"}}, nil
			},
			Versions: func(string) ([]BayVersion, error) {
				return []BayVersion{{Given: desk.Given{Version: 1}, By: "Jo Marsh", Why: "the device was updated"}}, nil
			}}})
	verdict := r.decided()
	trial := r.state("north").Now.Trial
	var shots []string
	for i := range 12 {
		shots = append(shots, r.hit("north", 150+float64(i*i%7), float64(i*5%11)-5))
	}
	r.seen("north", "camera")
	for act, in := range map[string]url.Values{
		"exclude": {"shot": shots[:1], "reason": {"mishit, not the club"}}, "mark": {"shot": shots[1:2], "class": {"no_ball"}},
		"feel": {"trial": {trial}, "words": {"whippy"}, "liking": {"1"}}, "instruct": {"words": {"wider stance"}},
		"hitter": {"hitter": {"guest"}},
		"class":  {"class": {"partial"}, "length": {"60yd"}}, "intent": {"intent": {"full_effort"}},
		"setting": {"place": {"indoor"}, "surface": {"mat"}, "tee_height": {"30mm"}, "ball_class": {"limited-flight"},
			"target_distance": {"150yd"}},
	} {
		if code, text := r.form("north", act, in.Encode()); code != http.StatusOK {
			t.Fatalf("%s: %d %s", act, code, text)
		}
	}
	for i := range 8 {
		r.hit("north", 60+float64(i), float64(i)-4)
	}
	r.must("south", &event.VisitEvent{Body: &event.VisitEvent_SessionOpened{SessionOpened: &event.SessionOpened{Player: "p-020",
		Hand: event.Hand_HAND_LEFT, Category: "putter"}}})
	r.must("south", start("own putter", true, &event.Spec{Field: event.BuildField_BUILD_LENGTH, Number: 34 * club.Inch}))
	for i := range 9 {
		r.hit("south", 4, float64(i)-4)
	}
	r.must("south", start("long neck", false, &event.Spec{Field: event.BuildField_BUILD_LENGTH, Number: 35 * club.Inch}))
	for i := range 9 {
		r.hit("south", 4, float64(i)-3)
	}
	if code, text := r.visitPage("/orders/new",
		url.Values{"verdict": {verdict.ID}, "clubs": {"6i 7i"}, "key": {"k-order"}}); code != http.StatusOK {
		t.Fatalf("the order is not placed: %d %s", code, text)
	}
	number := r.log("north")[len(r.log("north"))-1].GetOrderPlaced().GetOrder()
	r.until("the hub has it all", func() bool { return r.state("south").Session.N == 18 })
	tried := map[string]bool{}
	for _, p := range []struct {
		template, path string
		post           url.Values
	}{
		{"overview.html", "/", nil}, {"people.html", "/people", nil}, {"people.html", "/people", url.Values{"name": {""}}},
		{"bay.html", "/bays/north", nil}, {"bay.html", "/bays/north?all=1", nil}, {"bay.html", "/bays/south", nil},
		{"bay.html", "/bays/north/trial", url.Values{"part.loft": {"99deg"}, "part.length": {"far"}}},
		{"bay.html", "/bays/north/move", url.Values{"shot": shots[:1]}},
		{"bay.html", "/bays/north/setting", url.Values{"tee_height": {"9m"}}},
		{"bay.html", "/bays/north/correct", url.Values{"to_bay": {"north"}}},
		{"wall.html", "/bays/north/wall", nil}, {"wall.html", "/bays/south/wall", nil}, {"fail.html", "/bays/nowhere", nil},
		{"ops.html", "/ops", nil}, {"opsday.html", "/ops/bays/north", nil},
		{"enrol.html", "/enrol", nil}, {"enrolbay.html", "/enrol/bays/quay", nil},
		{"feed.html", "/feeds", nil}, {"feed.html", "/feeds/north", nil},
		{"players.html", "/players", nil}, {"player.html", "/players/p-017", nil}, {"bag.html", "/players/p-017/bag", nil},
		{"due.html", "/players/due", nil}, {"gaps.html", "/players/p-017/gaps", nil},
		{"orders.html", "/orders/?find=7i", nil}, {"ordernew.html", "/orders/new?verdict=" + verdict.ID + "&clubs=6i+7i+pw", nil},
		{"ordernew.html", "/orders/new", url.Values{"verdict": {verdict.ID}, "clubs": {"7i"}, "fix.7i.lie": {"flat"}, "length_step": {"far"}}},
		{"order.html", "/orders/" + number, nil}, {"stock.html", "/stock", nil}, {"morning.html", "/morning", nil},
		{"mirror.html", "/orders/mirror", nil}, {"bench.html", "/bench", nil},
		{"bench.html", "/bench/error?loft=36&lie_error=1&carry=140", nil},
		{"stock.html", "/stock/stock", url.Values{"part": {"none"}, "pieces": {"few"}}},
		{"order.html", "/orders/" + number + "/built", url.Values{"row": {"7i"}, "judgement": {"passed"}, "part.lie": {"50"}}},
		{"order.html", "/orders/" + number + "/shop", url.Values{"state": {"ready"}}}, {"orderpaper.html", "/orders/" + number + "/paper", nil},
	} {
		_, text := r.visitPage(p.path, p.post)
		proof.PlainWords(t, p.path, text)
		tried[p.template] = true
	}
	all, err := files.ReadDir("templates")
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range all {
		if parts := []string{"base.html", "parts.html", "sheets.html"}; !tried[f.Name()] && !slices.Contains(parts, f.Name()) {
			t.Errorf("no page of %s was read", f.Name())
		}
	}
}
