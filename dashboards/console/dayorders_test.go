package console

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"fairlead/ingest/contract/event"
	"fairlead/processors/golf/club"
)

// A returning player's day from the file to the delivered set: driver, irons, wedge and
// putter are decided in one visit, ordered, built and handed out; then the bag holds
// what was made of each, and each is due for its checks.
func TestADayOfFourKindsOfClubEndsInTheBag(t *testing.T) {
	r := newRig(t)
	number := func(f event.BuildField, n float64) *event.Spec {
		return &event.Spec{Field: f, Number: n, Knowledge: event.Knowledge_KNOWLEDGE_MEASURED}
	}
	visits := map[string]bool{}
	for _, c := range []struct {
		category, clubs string
		loft, lie, inch float64
		points          float64
	}{{"driver", "driver", 9.5, 58, 45.5, 33}, {"iron", "6i 7i", 33, 62, 37, 32}, {"wedge", "pw 56", 46, 63.5, 35.75, 34},
		{"putter", "putter", 3, 70, 34, 0}} {
		opened := r.must("north", &event.VisitEvent{Body: &event.VisitEvent_SessionOpened{SessionOpened: &event.SessionOpened{Player: "p-017",
			Hand: event.Hand_HAND_LEFT, Category: c.category}}})
		visits[opened.Visit] = true
		specs := []*event.Spec{number(event.BuildField_BUILD_LENGTH, c.inch*club.Inch), number(event.BuildField_BUILD_LOFT, c.loft),
			number(event.BuildField_BUILD_LIE, c.lie), {Field: event.BuildField_BUILD_HEAD_MODEL, Text: "Skerry " + c.category}}
		if c.points > 0 {
			specs = append(specs, number(event.BuildField_BUILD_SWING_WEIGHT, club.SwingWeight(c.points).Moment()))
		}
		hit := start("new "+c.category, false, specs...)
		trial := r.must("north", hit)
		verdict := r.must("north", &event.VisitEvent{Body: &event.VisitEvent_VerdictGiven{VerdictGiven: &event.VerdictGiven{
			Kind: event.VerdictKind_VERDICT_BUILD, Trial: trial.Trial, Build: hit.GetTrialStarted().Build}}})
		in := url.Values{"bay": {"north"}, "verdict": {verdict.ID}, "clubs": {c.clubs}}
		if code, text := r.visitPage("/orders/new", in); code != http.StatusOK {
			t.Fatalf("%s: ordered: %d %s", c.category, code, text)
		}
		log := r.log("north")
		placed := log[len(log)-1].GetOrderPlaced()
		if len(placed.GetClubs()) != len(strings.Fields(c.clubs)) {
			t.Fatalf("%s: placed %v", c.category, placed)
		}
		at := "/orders/" + placed.GetOrder()
		for _, row := range placed.GetClubs() {
			in := url.Values{"row": {row.GetName()}, "judgement": {"passed"}, "reason": {"as the player asked"}, "part.lie": {"61.5"}}
			if code, text := r.visitPage(at+"/built", in); code != http.StatusOK {
				t.Fatalf("%s: built: %d %s", row.GetName(), code, text)
			}
		}
		for _, state := range []string{"ready", "delivered"} {
			if code, text := r.visitPage(at+"/shop", url.Values{"state": {state}}); code != http.StatusOK {
				t.Fatalf("%s: %s: %d %s", c.category, state, code, text)
			}
		}
	}
	if len(visits) != 1 {
		t.Errorf("a day is %d visits", len(visits))
	}
	_, file := r.visitPage("/players/p-017", nil)
	_, due := r.visitPage("/players/due.csv", nil)
	for _, clubs := range []string{"driver", "6i 7i", "pw 56", "putter"} {
		if strings.Count(due, ","+clubs+",") != 2 || !strings.Contains(due, "thirty days,p-017,p-017,"+clubs) {
			t.Errorf("due of %s: %s", clubs, due)
		}
		for _, one := range strings.Fields(clubs) {
			if !strings.Contains(file, one) {
				t.Errorf("%s is not in the file", one)
			}
		}
	}
}
