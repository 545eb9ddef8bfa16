package fleet

import (
	"context"
	"fmt"
	"html"
	"maps"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"fairlead/deploy/axe"
	"fairlead/deploy/chromium"
)

// lookAt opens every page at three widths: nothing may run off the side, no
// script may fail. Pictures go to a folder when one is named.
func lookAt(t *testing.T, s *site, id, folder string) {
	ctx := chromium.Tab(t)
	do := func(actions ...chromedp.Action[chromedp.Void]) {
		t.Helper()
		if err := chromedp.Do(ctx, actions...); err != nil {
			t.Fatal(err)
		}
	}
	pages := map[string]string{
		"effects": "/fleet/?answer=" + id, "behind": "/fleet/behind?answer=" + id + "&attribute=shaft_weight",
		"robustness": "/fleet/robustness?answer=" + id + "&attribute=shaft_weight", "methods": "/fleet/methods", "compare": "/fleet/compare",
		"kept": "/fleet/kept", "priors": "/fleet/priors",
		"promises":  "/fleet/promises",
		"questions": "/fleet/questions", "places": "/fleet/questions/places",
	}
	// A head office gave an answer of more players.
	if err := s.store.Conn().Exec(t.Context(), "INSERT INTO fleet_priors SELECT concat(id, '9'), question, model, "+
		"category, outcome, 'head', 6120, "+
		"38, asked, mark_inserted, now64(3), 'AB:CD:EF:01:23:45:67:89:AB:CD', replaceOne(replaceAll(body, '\"players\":"+
		"', '\"players\":6'), id, concat(id, '9')) FROM answers WHERE kind = 'effects' AND outcome = 'direction' LIMIT 1"); err != nil {
		t.Fatal(err)
	}
	if page := s.get(t, pages["priors"], http.StatusOK); !strings.Contains(page, "head office head") {
		t.Errorf("%.2000s", page)
	}
	if page := s.get(t, "/fleet/?answer="+id+"9", http.StatusOK); !strings.Contains(page, "This is the head office’s answer") {
		t.Errorf("%.2000s", page)
	}
	behind := s.get(t, pages["behind"], http.StatusOK)
	pages["trial"] = html.UnescapeString(regexp.MustCompile(`/fleet/trial\?[^"]*`).FindString(behind))
	axe.Demand(t, slices.Collect(maps.Values(pages)), "/fleet/")
	for i, name := range slices.Sorted(maps.Keys(pages)) {
		do(chromedp.EmulateViewport(390, 900), chromedp.Navigate(s.url+pages[name]), chromedp.WaitReady("main"))
		for _, width := range []int64{390, 1024, 1920} {
			do(chromedp.EmulateViewport(width, 900))
			over, err := chromedp.Run(ctx, chromedp.Evaluate[int](`document.documentElement.scrollWidth - window.innerWidth`))
			if err != nil || over > 0 {
				t.Errorf("%s at %d: %d pixels too wide, %v", name, width, over, err)
			}
			if folder != "" {
				picture(t, ctx, filepath.Join(folder, fmt.Sprintf("%s-%d.png", name, width)))
			}
		}
		for _, v := range axe.Views(i) { // nothing keeps people from reading it, by day and by night
			do(chromedp.EmulateViewport(v.Wide, 900))
			for _, line := range axe.Faults(t, ctx, v.Scheme) {
				t.Errorf("%s, %s at %d: %s", name, v.Scheme, v.Wide, line)
			}
		}
	}
	// A choice shows at once, without a reload by hand.
	do(chromedp.Navigate(s.url+"/fleet/?answer="+id), chromedp.WaitReady("select[name=trait]"))
	if _, err := chromedp.Run(ctx, chromedp.Evaluate[bool](`(() => { const s = document.querySelector("select[name=trait]"); s.value = "path_deg"; s.dispatchEvent(new Event("change")); return true })()`)); err != nil {
		t.Fatal(err)
	}
	do(chromedp.WaitReady(`select[name=trait] option[value=path_deg][selected]`))
}

func picture(t *testing.T, ctx context.Context, path string) {
	t.Helper()
	page, err := chromedp.Run(ctx, chromedp.FullScreenshot(100))
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, page, 0o644); err != nil {
		t.Fatal(err)
	}
}
