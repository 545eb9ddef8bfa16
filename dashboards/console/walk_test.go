package console

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
)

// walk are the six steps of the README's walk through the demo. then is done on
// the page before its picture is taken. Without a path it is the page before.
var walk = []struct {
	name, path, link, then string
	height                 int64
}{
	{name: "board", path: "/", height: 1120},
	{name: "bay", path: "/bays/north", height: 900},
	{name: "club", then: `(document.getElementById('bar-trial').click(), true)`, height: 900},
	{name: "wall", path: "/bays/north/wall", then: `document.querySelector('#part-wall [data-number]')`, height: 640},
	{name: "report", path: "/sheets/", link: `a[href^="/reports/"]`, height: 900},
	{name: "fleet", path: "/fleet/", height: 900},
}

// TestWalk takes the README's pictures from a running demo, for `make shots`, into
// FAIRLEAD_WALK; without it, it looks whether they are there and small.
func TestWalk(t *testing.T) {
	folder, address := os.Getenv("FAIRLEAD_WALK"), os.Getenv("FAIRLEAD_SHOTS_URL")
	if folder != "" && address != "" {
		takeWalk(t, folder, address)
		return
	}
	all := int64(0)
	for i, step := range walk {
		f, err := os.Stat(filepath.Join("walk", fmt.Sprintf("%d-%s.webp", i+1, step.name)))
		if err != nil {
			t.Errorf("a picture of the walk is missing: %v: `make shots` takes it", err)
			continue
		}
		all += f.Size()
	}
	if all > 1<<20 {
		t.Errorf("the pictures of the walk are %d bytes; at most a MB", all)
	}
}

func takeWalk(t *testing.T, folder, address string) {
	t.Helper()
	if err := os.MkdirAll(folder, 0o755); err != nil {
		t.Fatal(err)
	}
	r := &rig{t: t, url: address}
	ctx := r.browse(t, "/")
	for i, step := range walk {
		do(t, ctx, chromedp.EmulateViewport(1024, step.height))
		if step.path != "" {
			do(t, ctx, chromedp.Navigate(r.url+step.path), chromedp.WaitReady("body"))
		}
		if step.name == "bay" { // in the middle of a visit
			truth(t, ctx, "two builds were hit", `document.querySelectorAll('#part-shots .shots li').length > 15 && document.querySelector('#part-compare details')`)
		}
		if step.link != "" {
			to := eval[string](t, ctx, fmt.Sprintf(`document.querySelector(%q).getAttribute('href')`, step.link))
			do(t, ctx, chromedp.Navigate(r.url+to), chromedp.WaitReady("body"))
		}
		truth(t, ctx, "the page is live, where it is", `!document.body.dataset.live || document.getElementById('link').textContent === 'live'`)
		if step.then != "" {
			truth(t, ctx, "the step "+step.name, step.then)
		}
		name := filepath.Join(folder, fmt.Sprintf("%d-%s.webp", i+1, step.name))
		quality := int64(80)
		do(t, ctx, action(func(ctx context.Context, target *chromedp.Target) error {
			picture, err := cdp.Call(ctx, target, page.CaptureScreenshot, page.CaptureScreenshotParams{
				Format: page.CaptureScreenshotFormatWebp, Quality: &quality})
			if err != nil {
				return err
			}
			return os.WriteFile(name, picture.Data, 0o644)
		}))
	}
}
