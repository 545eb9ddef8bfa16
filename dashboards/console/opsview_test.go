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
	r := newRigOf(t, &rig{ops: &Ops{
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
		do(t, ctx, chromedp.EmulateViewport(width, 800), chromedp.WaitVisible("#ops-test"))
		if over := eval[bool](t, ctx, `document.documentElement.scrollWidth > document.documentElement.clientWidth`); over {
			t.Errorf("at %d the page is wider than the screen", width)
		}
	}
	do(t, ctx, chromedp.Click("#ops-test"), chromedp.WaitVisible(`.notice`))
	if said := eval[string](t, ctx, `document.querySelector('.notice').textContent`); !strings.Contains(said, "by mail") {
		t.Errorf("the test said %q", said)
	}
}
