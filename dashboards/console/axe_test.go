package console

import (
	"context"
	"net/http"
	"net/url"
	"os"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"fairlead/deploy/axe"
)

// scheme shows pages as by day or by night.
func scheme(name string) chromedp.Action[chromedp.Void] {
	return func(ctx context.Context, target *chromedp.Target) (v chromedp.Void, err error) {
		_, err = cdp.Call(ctx, target, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
			Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: name}, {Name: "prefers-reduced-motion", Value: "reduce"}}})
		return v, err
	}
}

// Nothing on any page keeps people from reading or using it, by day and by night,
// on a phone and on a tablet, with each sheet opened and a form refused.
func TestPagesCanBeUsedByAll(t *testing.T) {
	r := newRig(t)
	verdict := r.decided()
	for i := range 12 {
		r.hit("north", 150+float64(i*i%7), float64(i*5%11)-5)
	}
	r.form("north", "feel", url.Values{"trial": {r.state("north").Now.Trial}, "words": {"whippy"}}.Encode())
	r.must("south", open("p-018"))
	if code, text := r.visitPage("/orders/new",
		url.Values{"verdict": {verdict.ID}, "clubs": {"6i 7i"}, "key": {"k-order"}}); code != http.StatusOK {
		t.Fatalf("the order is not placed: %d %s", code, text)
	}
	number := r.log("north")[len(r.log("north"))-1].GetOrderPlaced().GetOrder()
	r.until("the hub has it all", func() bool { return len(r.state("north").Shots) == 12 })
	ctx := r.browse(t, "/bays/north")
	script := axe.Script(t)
	pages := []struct{ path, then, within string }{
		{"/", "", "document"}, {"/people", "", "document"}, {"/bays/north", "", "document"}, {"/bays/south", "", "document"},
		{"/bays/north/wall", "", "document"}, {"/bays/nowhere", "", "document"},
		{"/feeds", "", "document"}, {"/feeds/north", "", "document"},
		{"/orders/?find=7i", "", "document"}, {"/orders/new?verdict=" + verdict.ID + "&clubs=7i+99x", "", "document"},
		{"/orders/" + number, "", "document"}, {"/orders/" + number + "/paper", "", "document"},
		{"/stock", "", "document"}, {"/morning", "", "document"},
		{"/orders/mirror", "", "document"},
		{"/bench/swingweight?length=37in&head=270g", "", "document"},
	}
	// All sheets at once, one below the other.
	pages = append(pages, struct{ path, then, within string }{"/bays/north", `(document.querySelectorAll('body > :not(dialog)').forEach(e => { e.hidden = true }),
		document.querySelectorAll('dialog').forEach(e => { e.style.position = 'static'; e.style.maxHeight = 'none'; e.show() }), true)`, `'dialog'`})
	looks := []struct {
		scheme string
		width  int64
	}{{"light", 390}, {"dark", 1024}, {"dark", 390}, {"light", 1024}}
	if os.Getenv("FAIRLEAD_PROVE") == "" {
		looks = looks[:2] // each scheme and each width by every run, all of both by make prove
	}
	for _, p := range pages {
		do(t, ctx, chromedp.Navigate(r.url+p.path), chromedp.WaitReady("main"))
		eval[bool](t, ctx, script+`;`+nonEmpty(p.then, "true"))
		for _, look := range looks {
			do(t, ctx, chromedp.EmulateViewport(look.width, 844), scheme(look.scheme))
			eval[bool](t, ctx, axe.Look(p.within))
			truth(t, ctx, "the page is checked", `window.axeFound`)
			for _, line := range eval[[]string](t, ctx, `window.axeFound`) {
				t.Errorf("%s %s, %s at %d px: %s", p.path, p.within, look.scheme, look.width, line)
			}
		}
	}
}
