package console

import (
	"context"
	"fmt"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/fetch"
	"github.com/chromedp/chromedp"

	"fairlead/ingest/contract/event"
)

// paused holds answers to what was entered until one is let go; after it none is held.
func paused(t *testing.T, ctx context.Context, path string) (answers <-chan fetch.RequestID, let func(fetch.RequestID)) {
	t.Helper()
	held := make(chan fetch.RequestID, 8)
	if err := chromedp.Listen(ctx, func(ev any) {
		if p, ok := ev.(*fetch.EventRequestPaused); ok {
			held <- p.RequestID
		}
	}); err != nil {
		t.Fatal(err)
	}
	do(t, ctx, action(func(ctx context.Context, target *chromedp.Target) error {
		_, err := cdp.Call(ctx, target, fetch.Enable, fetch.EnableParams{
			Patterns: []*fetch.RequestPattern{{URLPattern: "*" + path, RequestStage: fetch.RequestStageResponse}}})
		return err
	}))
	return held, func(id fetch.RequestID) {
		t.Helper()
		do(t, ctx, action(func(ctx context.Context, target *chromedp.Target) error {
			_, err := cdp.Call(ctx, target, fetch.ContinueRequest, fetch.ContinueRequestParams{RequestID: id})
			if err == nil { // what a page that waited too long sent again is not held
				_, err = cdp.Call(ctx, target, fetch.Disable, cdp.Empty{})
			}
			return err
		}))
	}
}

// action does something to a page that answers nothing.
func action(f func(context.Context, *chromedp.Target) error) chromedp.Action[chromedp.Void] {
	return func(ctx context.Context, target *chromedp.Target) (v chromedp.Void, err error) {
		return v, f(ctx, target)
	}
}

// What is tapped on the page, beside its forms.
func TestTapsOnThePage(t *testing.T) {
	r := newRig(t)
	r.must("north", open("p-017"))
	own := r.must("north", start("own seven", true, &event.Spec{Field: event.BuildField_BUILD_LENGTH, Number: 0.94}))
	ids := []string{r.hit("north", 150, -6), r.hit("north", 156, 2), r.hit("north", 141, 9)}
	before := time.Now()
	longer := r.must("north", start("longer", false, &event.Spec{Field: event.BuildField_BUILD_LENGTH, Number: 0.9525}))
	r.until("the hub knows the trial", func() bool { return r.state("north").Now.Trial == longer.Trial })
	between := r.hit("north", 149, 1)
	r.late("north", before)
	ctx := r.browse(t, "/bays/north")
	h := &hand{t: t, r: r, ctx: ctx}
	for _, width := range []int64{390, 1024} {
		do(t, ctx, chromedp.EmulateViewport(width, 844))
		mark := func(n int) string { return fmt.Sprintf(`#part-plot [data-shot="%d"]`, n) }
		tapped := `[...document.querySelectorAll('input[name=shot]:checked')].map(x => x.value).join()`
		h.tap(mark(3))
		truth(t, ctx, "the shot tapped on the picture is tapped in the list", fmt.Sprintf(`%s === %q && document.querySelector(%q).matches('.tapped')`, tapped, ids[2], mark(3)))
		truth(t, ctx, "and what may be done with it is in view", `(b => b.height > 0 && b.bottom <= innerHeight)(document.getElementById('bar-taps').getBoundingClientRect())`)
		h.tap(mark(3))
		truth(t, ctx, "a second tap takes it back", tapped+` === ''`)
	}
	// A shot whose time spans the change of build counts nowhere, and asks.
	ask := fmt.Sprintf(`document.getElementById('open-%s')`, between)
	truth(t, ctx, "the shot between two builds is asked about", ask+` && document.getElementById('part-suspicion').innerText.includes('between two builds')`)
	if s := r.state("north"); s.Trials[0].N != 3 || s.Trials[1].N != 0 {
		t.Errorf("a shot that nobody placed counts: %+v", s.Trials)
	}
	h.tap(fmt.Sprintf(`#open-%s form:has(input[name=trial][value=%q]) button`, between, own.Trial))
	truth(t, ctx, "one tap answers it", `!`+ask)
	r.until("it counts where it was said to", func() bool { return r.state("north").Trials[0].N == 4 })

	// The bar of an answer that comes late leaves a newer one alone.
	answers, let := paused(t, ctx, "/bays/north/feel")
	h.tap("#felt-better")
	id := <-answers
	r.must("north", &event.VisitEvent{Body: &event.VisitEvent_TrialPaused{TrialPaused: &event.TrialPaused{}}}) // by another tablet
	newest := `document.getElementById('do-resume') && document.querySelector('#undo[title*="aused"]')`
	truth(t, ctx, "the bar shows what was entered last", newest)
	let(id)
	truth(t, ctx, "the answer is told", `document.getElementById('notice').innerText.includes('Feel of trial 2 noted')`)
	if !eval[bool](t, ctx, `!!(`+newest+`)`) {
		t.Error("an answer that was overtaken takes the bar back to before")
	}
}
