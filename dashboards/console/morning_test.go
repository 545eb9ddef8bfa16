package console

import (
	"net/http"
	"net/url"
	"os"
	"regexp"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"fairlead/ingest/contract/event"
)

// A bay is checked with the reference club: the first check begins its past, one
// that reads alike is go, one that reads otherwise by more than a swing explains is
// stop, and no player's file knows of it.
func TestABayIsCheckedInTheMorning(t *testing.T) {
	r := newRig(t)
	list, err := os.ReadFile("../../testdata/stock/catalogue.csv")
	if err != nil {
		t.Fatal(err)
	}
	r.raw("POST", "/api/stock", list)
	must := func(path string, in url.Values) string {
		t.Helper()
		code, text := r.visitPage(path, in)
		if code != http.StatusOK {
			t.Fatalf("%s: %d", path, code)
		}
		return text
	}
	must("/stock/testclub", url.Values{"club_id": {"REF-7"}, "category": {"iron"}, "of": {"7i"}, "part": {"SK2-7"}, "reference": {"yes"}})
	if code, text := r.visitPage("/morning/north/judge", url.Values{}); code != http.StatusUnprocessableEntity ||
		!strings.Contains(text, "no check was begun") {
		t.Errorf("judged without a check: %d", code)
	}
	check := func(key string, shift float64) string {
		t.Helper()
		must("/morning/north/begin", url.Values{"club": {"REF-7"}, "ball": {"Harbour"}, "key": {key}})
		if code, _ := r.visitPage("/morning/north/judge", url.Values{"key": {key}}); code != http.StatusUnprocessableEntity {
			t.Errorf("judged of no ball: %d", code)
		}
		for i := range 10 {
			r.hit("north", 150+float64(i*3%7), float64(i*5%11)-5+shift)
		}
		r.until("the hub has the ten", func() bool {
			s := r.state("north")
			return len(s.Trials) == 1 && s.Trials[0].N == 10
		})
		must("/morning/north/judge", url.Values{"key": {key}})
		r.until("the session is closed", func() bool { s := r.state("north"); return s.Session == nil || !s.Session.Open })
		_, text := r.raw("GET", "/api/morning", nil)
		return string(text)
	}
	for n, c := range []struct {
		shift float64
		word  string
	}{{0, "its past begins"}, {0.1, `"go"`}, {60, `"stop"`}} {
		if text := check("k"+string(rune('a'+n)), c.shift); strings.Count(text, `"bay"`) != n+1 || !strings.Contains(text, c.word) {
			t.Errorf("check %d: %s", n, text)
		}
	}
	stopped := func() bool {
		_, board := r.raw("GET", "/", nil)
		_, bay := r.raw("GET", "/bays/north", nil)
		if a, b := strings.Contains(string(board), "Stopped by the check"), strings.Contains(string(bay), "Stopped by the check"); a != b {
			t.Errorf("the board says %t, the bay %t", a, b)
		}
		return strings.Contains(string(bay), "Stopped by the check")
	}
	if !stopped() {
		t.Error("the bay's fitter is not told that nobody is to be fitted there")
	}
	api := func(act string, in url.Values) (int, string) {
		return r.visitPage("/api/morning/north/"+act, in)
	}
	if code, text := api("judge", url.Values{}); code != http.StatusUnprocessableEntity || !strings.Contains(text, "no check was begun") {
		t.Errorf("by command, judged without a check: %d %s", code, text)
	}
	if code, text := api("begin", url.Values{"club": {"REF-7"}, "ball": {"Harbour"}}); code != http.StatusOK ||
		strings.Count(text, `"bay"`) != 3 {
		t.Errorf("by command, begun: %d %s", code, text)
	}
	if text := must("/morning", nil); !strings.Contains(text, "Nobody is fitted here") || !strings.Contains(text, "ball speed") {
		t.Error("the page does not say stop, or of what")
	}
	// The check that says stop was hit with another ball: it is taken back, once, and
	// stays in the log.
	last := regexp.MustCompile(`(?s)id="takeback-north".*?name="event" value="([^"]+)"`).FindStringSubmatch(must("/morning", nil))
	if last == nil {
		t.Fatal("the page offers no check to take back")
	}
	ctx := r.browse(t, "/orders/")
	do(t, ctx, chromedp.EmulateViewport(390, 844), chromedp.Navigate(r.url+"/morning"), chromedp.WaitReady("main"),
		chromedp.Click("#takeback-north button"))
	truth(t, ctx, "the check that is left says go", `document.querySelector('#north .tag')?.innerText === 'go'`)
	if _, text := r.raw("GET", "/api/morning", nil); strings.Count(string(text), `"bay"`) != 2 || strings.Contains(string(text), `"stop"`) {
		t.Errorf("taken back: %s", text)
	}
	// Another tablet that still offers it is told.
	if code, text := r.visitPage("/morning/north/undo", url.Values{"event": {last[1]}, "key": {"k-undo"}}); code !=
		http.StatusUnprocessableEntity ||
		!strings.Contains(text, "was taken back meanwhile") {
		t.Errorf("taken back twice: %d", code)
	}
	if code, text := api("undo", url.Values{}); code != http.StatusOK || strings.Count(text, `"bay"`) != 1 {
		t.Errorf("by command, taken back: %d %s", code, text)
	}
	if code, _ := r.visitPage("/morning/south/undo", url.Values{"event": {last[1]}}); code == http.StatusOK {
		t.Error("a check of another bay is taken back")
	}
	kinds := map[string]int{}
	for _, ev := range r.log("north") {
		kinds[event.KindOf(ev)]++
	}
	if kinds["bay_checked"] != 3 || kinds["voided"] != 2 {
		t.Errorf("the log holds %v", kinds)
	}
	if text := must("/players", nil); strings.Contains(text, "p-reference") {
		t.Error("the reference club is a player")
	}
}
