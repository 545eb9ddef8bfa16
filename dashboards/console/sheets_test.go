package console

import (
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"fairlead/deploy/engine/enginetest"
	"fairlead/ingest/contract/event"
	"fairlead/processors/hub/store"
)

// A verdict leads to its papers: the page links to them, and the pages behind
// the links know the names of this studio.
func TestAVerdictLeadsToItsPapers(t *testing.T) {
	r := newRigWith(t, nil, store.New(enginetest.New(t).Open(t)))
	code, text := r.raw("POST", "/api/people", []byte(`{"id":"p-017","role":"player","name":"Robin <Quayle>"}`))
	if code != 200 {
		t.Fatalf("%d %s", code, text)
	}
	r.must("north", open("p-017"))
	r.must("north", start("own seven", true, &event.Spec{Field: event.BuildField_BUILD_LENGTH, Number: 0.94}))
	r.hit("north", 150, 1)
	a := r.must("north", start("longer", false, &event.Spec{Field: event.BuildField_BUILD_LENGTH, Number: 0.9525}))
	r.hit("north", 155, 0)
	if _, page := r.raw("GET", "/bays/north", nil); strings.Contains(string(page), `id="sheet"`) {
		t.Error("a sheet before a verdict")
	}
	if code, text := r.form("north", "verdict", "verdict=build&trial="+a.Trial); code != 200 {
		t.Fatalf("%d %s", code, text)
	}
	_, page := r.raw("GET", "/bays/north", nil)
	_, after, ok := strings.Cut(string(page), `id="sheet" href="`)
	if !ok {
		t.Fatal("the page does not link to the sheet")
	}
	sheet, _, _ := strings.Cut(after, `"`)
	_, after, _ = strings.Cut(after, `id="report" href="`)
	report, _, _ := strings.Cut(after, `"`)
	r.until("the verdict is stored", func() bool { code, _ := r.raw("GET", sheet, nil); return code == 200 })
	for _, path := range []string{sheet, report, "/sheets/"} {
		code, text := r.raw("GET", path, nil)
		if code != 200 || !strings.Contains(string(text), "Robin &lt;Quayle&gt;") {
			t.Errorf("%s: %d %s", path, code, text)
		}
	}
	if _, text := r.raw("GET", sheet+".txt?units=metric", nil); !strings.Contains(string(text), "CHANGED, own club: 940 mm (+12.5 mm)") {
		t.Errorf("%s", text)
	}
	ctx := r.browse(t, "/bays/north")
	for _, width := range []int64{390, 1024} {
		do(t, ctx, chromedp.EmulateViewport(width, 900), chromedp.Navigate(r.url+"/bays/north"), chromedp.WaitReady("#sheet"))
		if over := eval[int](t, ctx, `document.documentElement.scrollWidth - window.innerWidth`); over > 0 {
			t.Errorf("at %d: %d pixels too wide", width, over)
		}
	}
	// The shots with the own club are what its gaps are told from.
	if code, text := r.raw("GET", "/players/p-017/gaps", nil); code != 200 || !strings.Contains(string(text), `<th>own seven</th>`) ||
		!strings.Contains(string(text), "150\u00a0m") {
		t.Errorf("gaps: %d %s", code, text)
	}
	if code, text := r.form("north", "verdict", "verdict=keep_gamer&trial="+a.Trial); code != 200 {
		t.Fatalf("%d %s", code, text)
	}
	if _, page := r.raw("GET", "/bays/north", nil); strings.Contains(string(page), `id="sheet"`) || !strings.Contains(string(page), `id="report"`) {
		t.Error("a verdict without a build leads to a build sheet, or to no report")
	}
	if _, text := r.raw("GET", "/", nil); !strings.Contains(string(text), `href="/sheets/"`) {
		t.Error("the overview does not lead to the sheets")
	}
}
