package console

import (
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

// From three metres one reads the last shot, at any width nothing is cut off,
// and no name stands on the wall.
func TestTheWallShowsTheLastShot(t *testing.T) {
	r := newRig(t)
	ctx := r.browse(t, "/bays/north/wall")
	do(t, ctx, chromedp.WaitVisible(`.wall-trial`))
	if said := eval[string](t, ctx, `document.querySelector('.wall-trial').textContent`); !strings.Contains(said, "No session") {
		t.Errorf("an empty bay says %q", said)
	}
	r.must("north", open("p1"))
	r.must("north", start("33 degrees", true))
	r.hit("north", 151.4, -4.2)
	do(t, ctx, chromedp.EmulateViewport(1920, 1080), chromedp.WaitVisible(`#wall-lead`))
	lead := eval[string](t, ctx, `document.querySelector('#wall-lead').textContent`)
	if !strings.Contains(lead, "151") {
		t.Errorf("the carry is %q", lead)
	}
	if lean := eval[string](t, ctx, `document.querySelector('#wall-lean').textContent`); !strings.Contains(lean, "4.2") {
		t.Errorf("offline is %q", lean)
	}
	if px := eval[float64](t, ctx, `parseFloat(getComputedStyle(document.querySelector('#wall-lead')).fontSize)`); px < 100 {
		t.Errorf("digits of %g px", px)
	}
	if strings.Contains(eval[string](t, ctx, `document.body.textContent`), "p1") {
		t.Error("the player is named")
	}
	for _, width := range []int64{390, 1024, 1920} {
		do(t, ctx, chromedp.EmulateViewport(width, 1080))
		if eval[bool](t, ctx, `document.documentElement.scrollWidth > document.documentElement.clientWidth`) {
			t.Errorf("at %d px it is wider than the screen", width)
		}
	}
	r.hit("north", 160.2, 3)
	r.until("the next shot", func() bool {
		return strings.Contains(eval[string](t, ctx, `document.querySelector('#wall-lead').textContent`), "160")
	})
}
