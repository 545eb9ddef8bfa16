package console

import (
	"fmt"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"fairlead/ingest/contract/event"
)

// What is entered on the pages of orders and players is taken back there, one tap
// after another, by whoever looks; the bay's Undo passes it over.
func TestPagesTakeBackWhatTheyTook(t *testing.T) {
	r := newRig(t)
	verdict := r.decided()
	number := r.set(t, verdict.ID, "6i 7i")
	at := "/orders/" + number
	post := func(path string, code int, more ...string) string {
		t.Helper()
		in := url.Values{}
		for i := 0; i < len(more); i += 2 {
			in.Set(more[i], more[i+1])
		}
		got, text := r.visitPage(path, in)
		if got != code {
			t.Fatalf("%s %v: %d, want %d: %.600s", path, more, got, code, text)
		}
		return strings.ReplaceAll(text, "\u00a0", " ")
	}
	offer := regexp.MustCompile(`(?s)id="takeback".*?name="event" value="([^"]+)"`)
	back := func(page string) string { // takes back what a page offers, and returns what it was
		t.Helper()
		_, text := r.visitPage(page, nil)
		found := offer.FindStringSubmatch(text)
		if found == nil {
			t.Fatalf("%s offers nothing to take back", page)
		}
		post(page+"/undo", http.StatusOK, "event", found[1], "key", "k-"+found[1])
		post(page+"/undo", map[bool]int{true: http.StatusOK, false: http.StatusNotFound}[r.found(page)], "event", found[1], "key", "k-"+found[1])
		for _, ev := range r.log("north") {
			if ev.Id == found[1] {
				return event.KindOf(ev)
			}
		}
		return ""
	}
	post(at+"/shop", http.StatusOK, "state", "in work")
	post(at+"/built", http.StatusOK, "row", "6i", "judgement", "rework", "reason", "weak lie", "part.lie", "58")
	post(at+"/account", http.StatusOK, "mark", "paid")
	post("/players/p-017/note", http.StatusOK, "kind", "pain", "words", "left wrist")
	if _, bay := r.visitPage("/bays/north", nil); !strings.Contains(bay, "left wrist") ||
		!strings.Contains(bay, `aria-label="Undo: verdict`) && !strings.Contains(bay, `aria-label="Undo: build`) {
		t.Errorf("the bay offers to undo the workshop's: %s", regexp.MustCompile(`aria-label="Undo[^"]*"`).FindString(bay))
	}
	if got := back("/players/p-017"); got != "player_noted" {
		t.Errorf("of the player: %s", got)
	}
	if _, bay := r.visitPage("/bays/north", nil); strings.Contains(bay, "left wrist") {
		t.Error("pain that was taken back is still said in the bay")
	}
	for _, want := range []string{"order_marked", "club_built", "order_moved", "order_placed"} {
		if got := back(at); got != want {
			t.Errorf("taken back: %s, want %s", got, want)
		}
	}
	if code, _ := r.visitPage(at, nil); code != http.StatusNotFound {
		t.Errorf("an order that was taken back: %d", code)
	}
	post("/players/p-017/undo", http.StatusUnprocessableEntity, "event", verdict.ID, "key", "other")
}

// found says whether there is a page.
func (r *rig) found(path string) bool {
	code, _ := r.visitPage(path, nil)
	return code == http.StatusOK
}

// What was said of the shelf is taken back on its page and by programs, a price list of
// several events as one, and an order's paper comes in every form.
func TestTheShelfIsTakenBackAndAnOrdersPaperComesInEveryForm(t *testing.T) {
	r := newRig(t)
	list := "code,kind,model,price,currency\n"
	for n := range listedAtOnce + 5 {
		list += fmt.Sprintf("G%03d,grip,Quay %d,12,EUR\n", n, n)
	}
	parts := func() int {
		_, text := r.raw("GET", "/stock.csv", nil)
		return strings.Count(string(text), "Quay")
	}
	if code, text := r.raw("POST", "/api/stock", []byte(list)); code != http.StatusOK || parts() != listedAtOnce+5 {
		t.Fatalf("%d %.400s: %d parts", code, text, parts())
	}
	if code, text := r.visitPage("/stock/stock", url.Values{"part": {"G001"}, "reason": {"counted"}, "pieces": {"7"}}); code != http.StatusOK {
		t.Fatalf("%d %.400s", code, text)
	}
	_, text := r.visitPage("/stock", nil)
	last := regexp.MustCompile(`(?s)id="takeback".*?name="event" value="([^"]+)"`).FindStringSubmatch(text)
	if last == nil {
		t.Fatal("the page offers nothing to take back")
	}
	if code, text := r.visitPage("/stock/undo", url.Values{"event": {last[1]}, "key": {"k-shelf"}}); code != http.StatusOK ||
		!strings.Contains(text, "Taken back") {
		t.Errorf("taken back: %d", code)
	}
	if _, text := r.raw("GET", "/api/stock", nil); strings.Contains(string(text), `"on":7`) || parts() != listedAtOnce+5 {
		t.Errorf("the count stands, or the list does not: %d parts", parts())
	}
	if code, text := r.visitPage("/api/stock/undo", url.Values{}); code != http.StatusOK || parts() != 0 {
		t.Errorf("the list is taken back: %d %s, %d parts left", code, text, parts())
	}
	if code, text := r.visitPage("/api/stock/undo", url.Values{"key": {"k-other"}}); code != http.StatusNotFound ||
		!strings.Contains(text, "nothing") {
		t.Errorf("nothing to take back: %d %s", code, text)
	}

	number := r.set(t, r.decided().ID, "6i 7i")
	for form, want := range map[string]string{"pdf": "%PDF", "txt": "passes", "json": `"order_placed"|"number":"` + number} {
		code, text := r.raw("GET", "/orders/"+number+"/paper."+form, nil)
		if code != http.StatusOK || !regexp.MustCompile(want).Match(text) {
			t.Errorf("%s: %d %.300s", form, code, text)
		}
		if pages := strings.Count(string(text), "/Type /Page\n"); form == "pdf" && (pages < 1 || pages > 3) {
			t.Errorf("the paper has %d pages", pages)
		}
		if code, text := r.raw("GET", "/orders/K7P4XAR/paper."+form, nil); code != http.StatusNotFound || !strings.HasPrefix(string(text), "{") {
			t.Errorf("%s of no order: %d %.200s", form, code, text)
		}
	}
	if _, text := r.visitPage("/orders/"+number, nil); !strings.Contains(text, "/orders/"+number+"/paper.pdf") {
		t.Error("the order's page leads to no PDF")
	}
}
