package fleet

import (
	"context"
	"fmt"
	"html"
	"maps"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"fairlead/deploy/axe"
	"fairlead/deploy/proof"
)

func chromium(t *testing.T) string {
	t.Helper()
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome"} {
		if path, err := exec.LookPath(name); err == nil {
			return path
		}
	}
	t.Fatal("no Chromium to look at pages with: apt-get install chromium")
	return ""
}

// lookAt opens every page at three widths: nothing may run off the side, no
// script may fail. Pictures go to a folder when one is named.
func lookAt(t *testing.T, s *site, id, folder string) {
	options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(chromium(t)), chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.Flag("disable-component-update", true), chromedp.Flag("disable-background-networking", true),
		chromedp.UserDataDir(t.TempDir()))
	ctx, stop := chromedp.NewExecAllocator(t.Context(), options...)
	defer stop()
	ctx, leave := chromedp.NewContext(ctx)
	defer leave()
	defer chromedp.Cancel(ctx)
	do := func(actions ...chromedp.Action[chromedp.Void]) {
		t.Helper()
		if err := chromedp.Do(ctx, actions...); err != nil {
			t.Fatal(err)
		}
	}
	pages := map[string]string{
		"effects": "/fleet/?answer=" + id, "behind": "/fleet/behind?answer=" + id + "&attribute=shaft_weight",
		"robustness": "/fleet/robustness?answer=" + id + "&attribute=shaft_weight", "methods": "/fleet/methods", "compare": "/fleet/compare",
		"kept": "/fleet/kept", "promises": "/fleet/promises", "questions": "/fleet/questions", "places": "/fleet/questions/places",
	}
	behind := s.get(t, pages["behind"], http.StatusOK)
	pages["trial"] = html.UnescapeString(regexp.MustCompile(`/fleet/trial\?[^"]*`).FindString(behind))
	axe.Demand(t, slices.Collect(maps.Values(pages)), "/fleet/")
	for name, path := range pages {
		for _, width := range []int64{390, 1024, 1920} {
			do(chromedp.EmulateViewport(width, 900), chromedp.Navigate(s.url+path), chromedp.WaitReady("main"))
			over, err := chromedp.Run(ctx, chromedp.Evaluate[int](`document.documentElement.scrollWidth - window.innerWidth`))
			if err != nil || over > 0 {
				t.Errorf("%s at %d: %d pixels too wide, %v", name, width, over, err)
			}
			for _, scheme := range axe.Schemes(width) { // nothing keeps people from reading it, by day and by night
				media := emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}}
				do(func(ctx context.Context, target *chromedp.Target) (v chromedp.Void, err error) {
					_, err = cdp.Call(ctx, target, emulation.SetEmulatedMedia, media)
					return v, err
				})
				if _, err := chromedp.Run(ctx, chromedp.Evaluate[bool](axe.Script(t)+`;`+axe.Look("document"))); err != nil {
					t.Fatal(err)
				}
				var faults []string
				proof.Until(t, "the page is checked", func() bool {
					faults, err = chromedp.Run(ctx, chromedp.Evaluate[[]string](`window.axeFound || ['']`))
					return err == nil && (len(faults) == 0 || faults[0] != "")
				})
				for _, line := range faults {
					t.Errorf("%s at %d: %s", name, width, line)
				}
			}
			if folder != "" {
				picture(t, ctx, filepath.Join(folder, fmt.Sprintf("%s-%d.png", name, width)))
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
