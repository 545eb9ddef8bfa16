package console

import (
	"encoding/json"
	"fmt"
	"net/http"
	"net/url"
	"os"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"fairlead/ingest/contract/event"
)

// A price list is tried and taken in the browser, a test club hangs in a bay and is
// hit as what it is, an order takes its parts and costs what they cost, and all of
// it is there after a restart.
func TestTheShelfFromListToOrder(t *testing.T) {
	r := newRig(t)
	list, err := os.ReadFile("../../testdata/stock/catalogue.csv")
	if err != nil {
		t.Fatal(err)
	}
	ctx := r.browse(t, "/orders/")
	do(t, ctx, chromedp.Navigate(r.url+"/stock"), chromedp.WaitReady("main"))
	do(t, ctx, chromedp.EmulateViewport(390, 844), chromedp.SetValue("#import-lines",
		strings.Replace(string(list), "272 g", "272 yd", 1)), chromedp.Click("#import-try"))
	truth(t, ctx, "the fault is named with its line", `/Line 4, weight “272 yd”/.test(document.querySelector('#change')?.textContent)`)
	do(t, ctx, chromedp.SetValue("#import-lines", string(list)), chromedp.Click("#import-try"))
	truth(t, ctx, "a dry run says what it would say", `/New: 18/.test(document.querySelector('#change')?.textContent) &&
		document.querySelector('#none') != null`)
	do(t, ctx, chromedp.SetValue("#import-lines", string(list)), chromedp.Click("#import-go"))
	truth(t, ctx, "the catalogue is there", `/Skerry 2 7i/.test(document.querySelector('#kind-head')?.textContent)`)
	if eval[int](t, ctx, `document.documentElement.scrollWidth - window.innerWidth`) > 0 {
		t.Error("the page is wider than the phone")
	}
	// What is said of the shelf is taken back by thumb: a count, a test club, the list
	// itself, which is then sent again.
	pressed := func(what, js string) {
		t.Helper()
		eval[bool](t, ctx, `(window.before = true, (() => {`+js+`})(), true)`)
		truth(t, ctx, what, `!window.before && document.readyState === 'complete'`)
	}
	pressed("counted", `document.getElementById('count-part').value = 'SK2-7'; document.getElementById('count-reason').value = 'scrapped';
		document.getElementById('count-pieces').value = '2'; document.getElementById('count-go').click()`)
	pressed("a test club of no such part", `document.getElementById('test-id').value = 'T7-09'; document.getElementById('test-of').value = '7i';
		document.getElementById('test-head').value = 'NONE'; document.getElementById('test-shaft').value = 'RD95-S';
		document.getElementById('test-go').click()`)
	if !eval[bool](t, ctx, `document.getElementById('refused') && document.getElementById('test-head').value === 'NONE' &&
		document.getElementById('test-shaft').value === 'RD95-S' && document.getElementById('count-part').value === ''`) {
		t.Error("what was typed of a refused test club is gone, or stands elsewhere")
	}
	pressed("a test club", `document.getElementById('test-head').value = 'SK2-7'; document.getElementById('test-go').click()`)
	for _, c := range [][2]string{{"T7-09", `!document.getElementById('tests').innerText.includes('T7-09')`},
		{"SK2-7", `document.querySelector('#kind-head').innerText.includes('SK2-7')`}, {"18 parts", `!document.getElementById('kind-head')`}} {
		if !eval[bool](t, ctx, fmt.Sprintf(`document.getElementById('takeback').innerText.includes(%q)`, c[0])) {
			t.Errorf("offered to take back instead of %s: %s", c[0], eval[string](t, ctx, `document.getElementById('takeback').innerText`))
		}
		pressed("taken back: "+c[0], `document.getElementById('undo').click()`)
		if !eval[bool](t, ctx, c[1]+` && document.querySelector('.notice').innerText.includes('Taken back')`) {
			t.Errorf("%s is not taken back: %s", c[0], eval[string](t, ctx, `document.getElementById('main').innerText`))
		}
	}
	pressed("the list again", fmt.Sprintf(`document.getElementById('import-lines').value = %q; document.getElementById('import-go').click()`, list))

	// The list sent again says nothing; a count and a test club are written down.
	if code, text := r.raw("POST", "/api/stock?dry=1", list); code != http.StatusOK || !strings.Contains(string(text), `"same":18`) {
		t.Errorf("again: %d %s", code, text)
	}
	if code, text := r.raw("POST", "/api/stock", []byte("code\nA")); code != http.StatusUnprocessableEntity ||
		!strings.Contains(string(text), "kind") {
		t.Errorf("a broken list: %d %s", code, text)
	}
	must := func(path string, in url.Values) string {
		t.Helper()
		code, text := r.visitPage(path, in)
		if code != http.StatusOK || strings.Contains(text, "Not taken") {
			t.Fatalf("%s: %d %.800s", path, code, text[max(0, strings.Index(text, "refused")):])
		}
		return text
	}
	must("/stock/testclub", url.Values{"club_id": {"T7-03"}, "category": {"iron"}, "of": {"7i"}, "part": {"SK2-7", "RD95-S", "QC-STD", ""},
		"part.length": {"37in"}, "how.length": {"measured"}, "part.loft": {"33.2deg"}, "how.loft": {"measured"}, "hangs": {"north"}})
	if code, text := r.visitPage("/stock/stock", url.Values{"part": {"NONE"}, "reason": {"counted"}, "pieces": {"1"}}); code !=
		http.StatusUnprocessableEntity || !strings.Contains(text, "no part of the catalogue") {
		t.Errorf("a part that is not listed: %d", code)
	}

	// In the bay it is hit as what it is, and ordered with its parts.
	r.must("north", open("p-017"))
	own := r.must("north", start("own 7", true, &event.Spec{Field: event.BuildField_BUILD_LENGTH, Number: 0.95}))
	if code, text := r.form("north", "trial", url.Values{"club": {"T7-03"}}.Encode()); code != http.StatusOK {
		t.Fatalf("%d %s", code, text)
	}
	log := r.log("north")
	hit := log[len(log)-1].GetTrialStarted()
	if hit.GetBuild().Spec(event.BuildField_BUILD_SHAFT_MODEL).GetText() != "Reed 95" || hit.GetBuild().Spec(event.BuildField_BUILD_LENGTH).
		GetMeasuredOn() != "T7-03" || hit.GetBuild().GetClubId() != "T7-03" || hit.GetBuild().GetGamer() {
		t.Errorf("the test club is hit as %v", hit)
	}
	verdict := r.must("north", &event.VisitEvent{Body: &event.VisitEvent_VerdictGiven{VerdictGiven: &event.VerdictGiven{
		Kind: event.VerdictKind_VERDICT_BUILD, Trial: hit.Trial, Baseline: own.Trial, Build: hit.Build}}})
	draft := must("/orders/new", url.Values{"verdict": {verdict.ID}, "clubs": {"6i 7i"}, "look": {"yes"}})
	if !strings.Contains(draft, "329.00 EUR") {
		t.Error("the draft has no sum")
	}
	text := must("/orders/new", url.Values{"verdict": {verdict.ID}, "clubs": {"6i 7i"}, "key": {"k-order"}, "take.6i.grip": {"QC-MID"}})
	if !strings.Contains(text, "330.50 EUR") {
		t.Error("the order has no sum, or not the chosen grip's")
	}
	log = r.log("north")
	placed := log[len(log)-1].GetOrderPlaced()
	if len(placed.GetParts()) != 8 || placed.Clubs[0].GetBendLimitDeg() != 2 || placed.Clubs[0].GetMetal() != "forged" {
		t.Errorf("%v", placed)
	}
	level := func(code string) string {
		t.Helper()
		_, text := r.raw("GET", "/api/stock", nil)
		var told struct{ Levels []map[string]any }
		if err := json.Unmarshal(text, &told); err != nil {
			t.Fatal(err)
		}
		for _, l := range told.Levels {
			if l["code"] == code {
				return fmt.Sprintf("on %v, held %v", l["on"], l["held"])
			}
		}
		return "none"
	}
	if got := level("SK2-7"); got != "on 6, held 1" {
		t.Errorf("placed: %s", got)
	}
	must("/orders/"+placed.Order+"/account", url.Values{"mark": {"deposit"}, "key": {"k-1"}})
	must("/orders/"+placed.Order+"/shop", url.Values{"state": {"in work"}, "key": {"k-2"}})
	broker := r.nc.ConnectedUrl()
	r.stop()
	r.start(broker)
	if got := level("SK2-7"); got != "on 5, held 0" {
		t.Errorf("begun, after a restart: %s", got)
	}
	if text := must("/orders/"+placed.Order, nil); !strings.Contains(text, "deposit") || !strings.Contains(text, "330.50 EUR") {
		t.Error("the mark or the sum is gone after a restart")
	}
	// What is of the shelf is not the fitter's to undo in the bay.
	if _, text := r.visitPage("/bays/north", nil); strings.Contains(text, "catalogue:") {
		t.Error("the bay offers to undo the catalogue")
	}
}
