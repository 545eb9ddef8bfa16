package console

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

// pagesOfAStudio finds the pages of a running studio: those that always are, one
// for each bay, and a sheet, a report and a fleet answer where the lists have one.
func pagesOfAStudio(t *testing.T, r *rig) []string {
	t.Helper()
	ctx := r.browse(t, "/")
	links := func(path, selector string) []string {
		do(t, ctx, chromedp.Navigate(r.url+path), chromedp.WaitReady("body"))
		return eval[[]string](t, ctx, fmt.Sprintf(`[...new Set([...document.querySelectorAll(%q)].map(a => a.getAttribute('href')))]`, selector))
	}
	pages := append([]string{"/", "/people", "/sheets/", "/fleet/", "/fleet/compare", "/fleet/promises", "/fleet/kept", "/bays/nowhere"},
		links("/", `a[href^="/bays/"]`)...)
	for _, kind := range []string{`a[href^="/sheets/"]:not([href="/sheets/"])`, `a[href^="/reports/"]`} {
		if found := links("/sheets/", kind); len(found) > 0 {
			pages = append(pages, found[0])
		}
	}
	return pages
}

// TestShots takes pictures of every page of a running studio, for `make shots`:
// FAIRLEAD_SHOTS is the folder they go to, FAIRLEAD_SHOTS_URL where the studio is.
func TestShots(t *testing.T) {
	folder, address := os.Getenv("FAIRLEAD_SHOTS"), os.Getenv("FAIRLEAD_SHOTS_URL")
	if folder == "" || address == "" {
		t.Skip("pictures are taken by make shots")
	}
	if err := os.MkdirAll(folder, 0o755); err != nil {
		t.Fatal(err)
	}
	r := &rig{t: t, url: address}
	pages := strings.Fields(os.Getenv("FAIRLEAD_SHOTS_PAGES"))
	if len(pages) == 0 {
		pages = pagesOfAStudio(t, r)
	}
	widths := []int64{390, 1024, 1920}
	for _, path := range pages {
		ctx := r.browse(t, "/")
		for _, width := range widths {
			do(t, ctx, chromedp.EmulateViewport(width, 1080), chromedp.Navigate(r.url+path), chromedp.WaitReady("body"))
			picture, err := chromedp.Run(ctx, chromedp.FullScreenshot(100))
			if err != nil {
				t.Fatalf("%s at %d: %v", path, width, err)
			}
			name := strings.Trim(strings.NewReplacer("/", "-", "?", "-", "=", "-", "&", "-").Replace(path), "-")
			if err := os.WriteFile(filepath.Join(folder, fmt.Sprintf("%s-%d.png", nonEmpty(name, "bays"), width)), picture, 0o644); err != nil {
				t.Fatal(err)
			}
		}
	}
}
