package console

import (
	"context"
	"net/http"
	"net/url"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"fairlead/deploy/axe"
	"fairlead/ingest/bay/desk"
	"fairlead/ingest/contract/event"
	"fairlead/processors/golf/club"
	"fairlead/processors/hub/watch"
)

// scheme shows pages as by day or by night.
func scheme(name string) chromedp.Action[chromedp.Void] {
	return func(ctx context.Context, target *chromedp.Target) (v chromedp.Void, err error) {
		_, err = cdp.Call(ctx, target, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
			Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: name}, {Name: "prefers-reduced-motion", Value: "reduce"}}})
		return v, err
	}
}

// looker looks pages over in one browser.
type looker struct {
	t      *testing.T
	ctx    context.Context
	script string
	n      int // pages so far
}

// over looks a page over, then being what is done to it first.
func (l *looker) over(address, then, part string) {
	l.t.Helper()
	do(l.t, l.ctx, chromedp.Navigate(address), chromedp.WaitReady("main"))
	eval[bool](l.t, l.ctx, nonEmpty(then, "true"))
	l.here(address, part)
}

// here looks over a part of what is shown.
func (l *looker) here(name, part string) {
	l.t.Helper()
	eval[bool](l.t, l.ctx, l.script+`;true`)
	for _, v := range axe.Views(l.n) {
		do(l.t, l.ctx, chromedp.EmulateViewport(v.Wide, 844), scheme(v.Scheme))
		if over := eval[int](l.t, l.ctx, `document.documentElement.scrollWidth - innerWidth`); over > 1 {
			l.t.Errorf("%s, %d px: %d px too wide", name, v.Wide, over)
		}
		eval[bool](l.t, l.ctx, axe.Look(part))
		truth(l.t, l.ctx, "the page is checked", `window.axeFound`)
		for _, line := range eval[[]string](l.t, l.ctx, `window.axeFound`) {
			l.t.Errorf("%s %s, %s at %d px: %s", name, part, v.Scheme, v.Wide, line)
		}
	}
	l.n++
}

// read gives a page's source to who follows its links.
func (r *rig) read(path string) string {
	code, text := r.raw(http.MethodGet, path, nil)
	if code != http.StatusOK {
		return ""
	}
	return string(text)
}

// aStudio is a console with something on every page.
func aStudio(t *testing.T) (r *rig, verdict string) {
	state := watch.State{Looked: time.Now().Add(time.Hour)}
	state.Take([]watch.Alarm{{Where: watch.Broker, What: watch.Stuck, Text: "does not answer within 3s: no bay is heard",
		Severity: watch.Critical}}, time.Now())
	r = newRigOf(t, &rig{ops: &Ops{State: func() (watch.State, error) { return state, nil }, Targets: func() any { return nil }},
		enrol: &Enrol{Deliver: func(context.Context, desk.Client) {}, Join: http.NotFoundHandler(),
			List: func() ([]EnrolledBay, error) {
				return []EnrolledBay{{Name: "quay", Enrolled: "enrolled", Goes: "goes by version 1"}}, nil
			},
			Versions: func(string) ([]BayVersion, error) {
				return []BayVersion{{Given: desk.Given{Version: 1}, By: "Jo Marsh", Why: "the device was updated"}}, nil
			}}})
	verdict = r.decided().ID
	for i := range 12 {
		r.hit("north", 150+float64(i*i%7), float64(i*5%11)-5)
	}
	r.form("north", "feel", url.Values{"trial": {r.state("north").Now.Trial}, "words": {"whippy"}}.Encode())
	r.must("south", &event.VisitEvent{Body: &event.VisitEvent_SessionOpened{SessionOpened: &event.SessionOpened{Player: "p-018",
		Hand: event.Hand_HAND_LEFT, Category: "putter"}}})
	r.must("south", start("own putter", true, &event.Spec{Field: event.BuildField_BUILD_LENGTH, Number: 34 * club.Inch}))
	for i := range 4 {
		r.hit("south", 4, float64(i)-2)
	}
	if code, text := r.visitPage("/orders/new",
		url.Values{"verdict": {verdict}, "clubs": {"6i 7i"}, "key": {"k-order"}}); code != http.StatusOK {
		t.Fatalf("the order is not placed: %d %s", code, text)
	}
	r.until("the hub has it all", func() bool { return len(r.state("north").Shots) == 12 && len(r.state("south").Shots) == 4 })
	return r, verdict
}

// Nothing on any page keeps people from reading or using it, by day and by night,
// on a phone and on a tablet: every page of the router's table, with each sheet
// opened and forms refused. (Fleet and papers are looked at in their rooms.)
func TestPagesCanBeUsedByAll(t *testing.T) {
	r, verdict := aStudio(t)
	pages := axe.Crawl(r.read, 1, "/bays/north", "/orders/?find=7i", "/orders/new?verdict="+verdict+"&clubs=7i+99x",
		"/bench/swingweight?length=37in&head=270g")
	axe.Demand(t, pages, "/{", "/bays/", "/people", "/players", "/ops", "/enrol", "/feeds", "/orders/", "/bench", "/morning", "/stock")
	look := &looker{t: t, ctx: r.browse(t, "/bays/north"), script: axe.Script(t)}
	for _, path := range append(pages, "/bays/south", "/bays/nowhere") {
		look.over(r.url+path, "", "document")
	}
	// All sheets at once, one below the other.
	look.over(r.url+"/bays/north", `(document.querySelectorAll('body > :not(dialog)').forEach(e => { e.hidden = true }),
		document.querySelectorAll('dialog').forEach(e => { e.style.position = 'static'; e.style.maxHeight = 'none'; e.show() }), true)`, `'dialog'`)
	// A form that was refused, with what it offers then.
	do(t, look.ctx, chromedp.Navigate(r.url+"/bays/south"), chromedp.WaitReady("main"))
	eval[bool](t, look.ctx, `(document.getElementById('sheet-session').showModal(), document.getElementById('open-player').value = 'Bo Quill',
		document.getElementById('open-go').click(), true)`)
	truth(t, look.ctx, "somebody unknown may be added", `document.getElementById('add-player')`)
	look.here("a refused form", `'#sheet-session'`)
	lookAtTheGate(t, look, r.url)
}
