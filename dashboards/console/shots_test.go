package console

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"fairlead/deploy/axe"
)

// TestShots takes pictures of every page of a running studio, for `make shots`:
// FAIRLEAD_SHOTS is the folder they go to, FAIRLEAD_SHOTS_URL where the studio is.
// The pages are those of the router's table that links lead to; what runs off the
// side is said.
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
		pages = append(axe.Crawl(r.read, 2, "/"), "/bays/nowhere")
	}
	widths := []int64{390, 1024, 1920}
	t.Logf("%d pages", len(pages))
	ctx := t.Context()
	for i, path := range pages {
		if i%8 == 0 { // each browser has its five minutes
			ctx = r.browse(t, "/")
		}
		for _, width := range widths {
			do(t, ctx, chromedp.EmulateViewport(width, 1080), chromedp.Navigate(r.url+path), chromedp.WaitReady("body"))
			if over := eval[int](t, ctx, `document.documentElement.scrollWidth - innerWidth`); over > 1 {
				t.Errorf("%s at %d: %d px too wide", path, width, over)
			}
			picture, err := chromedp.Run(ctx, chromedp.FullScreenshot(100))
			if err != nil {
				t.Fatalf("%s at %d: %v", path, width, err)
			}
			name := strings.Trim(strings.NewReplacer("/", "-", "?", "-", "=", "-", "&", "-", "+", "-", "%", "-").Replace(path), "-")
			if err := os.WriteFile(filepath.Join(folder, fmt.Sprintf("%s-%d.png", nonEmpty(name, "bays"), width)), picture, 0o644); err != nil {
				t.Fatal(err)
			}
		}
	}
}
