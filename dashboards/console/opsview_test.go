package console

import (
	"context"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"fairlead/processors/hub/watch"
)

// The watch's page says what is wrong and since when, and what a hung broker
// does is not laid at the bays' door.
func TestTheWatchIsShown(t *testing.T) {
	state := watch.State{Looked: time.Now().Add(time.Hour)} // fresh for as long as the test may take
	state.Take([]watch.Alarm{
		{Where: watch.Broker, What: watch.Stuck, Text: "does not answer within 3s: no bay is heard", Severity: watch.Critical},
		{Where: "bay south", What: "low", Text: "20 MB left", Severity: watch.Warning},
	}, time.Now())
	told := []string{"mail"}
	today := time.Now().Format(time.DateOnly)
	r := newRigOf(t, &rig{ops: &Ops{
		Days: func() (watch.Days, error) {
			return watch.Days{"north": {today: {On: 7200, Down: 60}}}, nil
		},
		State: func() (watch.State, error) { return state, nil }, Test: func(context.Context) ([]string, error) { return told, nil },
		Targets: func() any { return []string{"here"} },
	}})
	get := func(path string) string {
		code, body := r.raw(http.MethodGet, path, nil)
		if code != http.StatusOK {
			t.Fatalf("%s: %d %s", path, code, body)
		}
		return string(body)
	}
	page := get("/ops")
	north, south := strings.Index(page, `href="/ops/bays/north"`), strings.Index(page, `href="/ops/bays/south"`)
	if south < 0 || north < south {
		t.Error("the bay in trouble does not come first")
	}
	row := page[north:]
	row = row[:strings.Index(row, "</tr>")]
	for _, want := range []string{`"Lines">–<`, "99.2 %", "free"} {
		if !strings.Contains(row, want) {
			t.Errorf("the row of north lacks %s: %s", want, row)
		}
	}
	day := get("/ops/bays/north")
	for _, want := range []string{"On for 2 h 0 min, 1 min of it with a critical fault: up 99.2 %", "The store is away",
		"Nothing, as far as"} {
		if !strings.Contains(day, want) {
			t.Errorf("the day of north lacks %q: %s", want, day)
		}
	}
	if day := get("/ops/bays/south"); !strings.Contains(day, "20 MB left") || !strings.Contains(day, "No line came") {
		t.Errorf("the day of south: %s", day)
	}
	if code, _ := r.raw(http.MethodGet, "/ops/bays/north?day=yesterday", nil); code != http.StatusBadRequest {
		t.Errorf("a day that is none: %d", code)
	}
	for _, want := range []string{"broker: stuck", "does not answer within 3s", "bay south: low", "since "} {
		if !strings.Contains(page, want) {
			t.Errorf("the page lacks %q", want)
		}
	}
	if strings.Index(page, "broker: stuck") > strings.Index(page, "bay south: low") {
		t.Error("the worst does not come first")
	}
	overview := get("/")
	if !strings.Contains(overview, "The broker does not answer") || strings.Contains(overview, "The hub does not answer") {
		t.Errorf("the cause is not named: %s", overview)
	}
	if get("/targets") != "[\"here\"]\n" {
		t.Error(get("/targets"))
	}
	ctx := r.browse(t, "/ops")
	for _, width := range []int64{390, 1024} {
		do(t, ctx, chromedp.EmulateViewport(width, 800), chromedp.Navigate(r.url+"/ops/bays/north"), chromedp.WaitVisible("#came"))
		if over := eval[bool](t, ctx, `document.documentElement.scrollWidth > document.documentElement.clientWidth`); over {
			t.Errorf("at %d the bay's day is wider than the screen", width)
		}
		do(t, ctx, chromedp.Navigate(r.url+"/ops"), chromedp.WaitVisible("#ops-test"))
		if over := eval[bool](t, ctx, `document.documentElement.scrollWidth > document.documentElement.clientWidth`); over {
			t.Errorf("at %d the page is wider than the screen", width)
		}
	}
	do(t, ctx, chromedp.Click("#ops-test"), chromedp.WaitVisible(`.notice`))
	if said := eval[string](t, ctx, `document.querySelector('.notice').textContent`); !strings.Contains(said, "by mail") {
		t.Errorf("the test said %q", said)
	}
}
