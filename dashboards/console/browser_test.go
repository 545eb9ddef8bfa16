package console

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"fairlead/deploy/chromium"
	"fairlead/deploy/proof"
	"fairlead/ingest/contract/event"
)

// browse opens a page of the console in Chromium.
func (r *rig) browse(t *testing.T, path string) context.Context {
	t.Helper()
	if raced {
		t.Skip("browsers are tried in the run without the race detector: deploy/test.sh does both")
	}
	ctx := chromium.Tab(t)
	do(t, ctx, chromedp.EmulateViewport(1024, 900), chromedp.Navigate(r.url+path), chromedp.WaitReady("body"))
	truth(t, ctx, "the page is live", `document.getElementById('link').textContent === 'live'`)
	return ctx
}

func do(t *testing.T, ctx context.Context, actions ...chromedp.Action[chromedp.Void]) {
	t.Helper()
	if err := chromedp.Do(ctx, actions...); err != nil {
		t.Fatal(err)
	}
}

// eval asks the page.
func eval[T any](t *testing.T, ctx context.Context, js string) T {
	t.Helper()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[T](js))
	if err != nil {
		t.Fatalf("%s: %v", js, err)
	}
	return v
}

// truth waits until a condition of the page holds.
func truth(t *testing.T, ctx context.Context, what, js string) {
	t.Helper()
	if !holds(t, ctx, what, js) {
		t.FailNow()
	}
}

// holds is truth for one of many cases: the others are tried all the same. A page
// that is just leaving for another can't be asked, and is asked again.
func holds(t *testing.T, ctx context.Context, what, js string) bool {
	t.Helper()
	var err error
	for deadline := time.Now().Add(time.Minute); time.Now().Before(deadline) && ctx.Err() == nil; proof.Pause(t, 20*time.Millisecond) {
		var ok bool
		if ok, err = chromedp.Run(ctx, chromedp.Evaluate[bool]("!!("+js+")")); ok && err == nil {
			return true
		}
	}
	if err != nil {
		t.Errorf("never: %s: %v", what, err)
		return false
	}
	t.Errorf("never: %s; answers and focus: %s", what, eval[string](t, ctx,
		`[...document.querySelectorAll('.told, #notice, .answer, #refused')].map(e => e.innerText.trim()).filter(x => x).join(' | ') + ' | ' + (document.activeElement || {}).id`))
	return false
}

// tabTo presses Tab until the element has the focus: no mouse, no script.
func tabTo(t *testing.T, ctx context.Context, id string) {
	t.Helper()
	for range 150 {
		if eval[string](t, ctx, `document.activeElement ? document.activeElement.id : ''`) == id {
			if eval[string](t, ctx, `getComputedStyle(document.activeElement).outlineStyle`) == "none" {
				t.Errorf("%s has the focus and does not show it", id)
			}
			return
		}
		press := chromedp.KeyEvent(kb.Tab)
		if eval[bool](t, ctx, fmt.Sprintf(`!!(document.activeElement.compareDocumentPosition(document.getElementById(%q) || document.body) & 2) && document.activeElement !== document.body`, id)) {
			press = chromedp.KeyEvent(kb.Tab, chromedp.KeyModifiers(chromedp.ModifierShift)) // it stands before
		}
		do(t, ctx, press)
	}
	t.Fatalf("Tab never reaches %s", id)
}

func TestAVisitByKeyboardAlone(t *testing.T) {
	r := newRig(t)
	ctx := r.browse(t, "/bays/north")
	key := func(k string) { do(t, ctx, chromedp.KeyEvent(k)) }
	typed := func(id, text string) {
		tabTo(t, ctx, id)
		key(text)
	}
	press := func(id string) { tabTo(t, ctx, id); key(kb.Enter) }
	press("bar-session")
	typed("open-player", "p-017")
	tabTo(t, ctx, "open-go")
	key(kb.Enter)
	truth(t, ctx, "the session is open", `document.getElementById('part-now').innerText.includes('p-017')`)
	press("bar-trial")
	typed("trial-name", "own seven")
	tabTo(t, ctx, "trial-start")
	key(kb.Enter)
	truth(t, ctx, "the first trial runs", `document.getElementById('part-trials').innerText.includes('own seven')`)
	ids := []string{r.hit("north", 150, 1), r.hit("north", 152, -2), r.hit("north", 149, 3)}
	truth(t, ctx, "the shots show", fmt.Sprintf(`document.getElementById('s-%s')`, ids[2]))

	press("bar-trial")
	typed("trial-length", "37.5in")
	tabTo(t, ctx, "trial-start")
	key(kb.Enter)
	truth(t, ctx, "the second trial shows its change", `document.getElementById('part-trials').innerText.includes('Length 37.5 in')`)
	if s := r.state("north"); s.Session.Category != "iron" || len(s.Trials) != 2 || len(s.Trials[1].Changes) != 1 ||
		s.Trials[1].Changes[0].To.Number != 0.9525 || s.Trials[1].Gamer || !s.Trials[0].Gamer {
		t.Fatalf("state %+v", s)
	}
	// The last two shots were hit with the new club before it was entered.
	for _, id := range ids[1:] {
		tabTo(t, ctx, "s-"+id)
		key(" ")
	}
	more := r.hit("north", 155, 0) // a shot meanwhile must not untap them
	truth(t, ctx, "the new shot shows and the taps stay", fmt.Sprintf(`document.getElementById('s-%s') && document.querySelectorAll('input[name=shot]:checked').length === 2`, more))
	press("bar-taps")
	tabTo(t, ctx, "tap-trial")
	key("2")
	tabTo(t, ctx, "tap-move")
	key(kb.Enter)
	truth(t, ctx, "the notice says what was done", `document.getElementById('notice').innerText.includes('2 shots moved to trial 2')`)
	r.until("the shots are moved", func() bool { s := r.state("north"); return s.Trials[0].N == 1 && s.Trials[1].N == 3 })
	truth(t, ctx, "nothing is tapped any more", `document.querySelectorAll('input[name=shot]:checked').length === 0`)
	tabTo(t, ctx, "undo")
	key(kb.Enter)
	r.until("the move is taken back", func() bool { s := r.state("north"); return s.Trials[0].N == 3 && s.Trials[1].N == 1 })
	truth(t, ctx, "the page follows", `[...document.querySelectorAll('.trial')][0].innerText.match(/Shots\s*3/)`)
	tabTo(t, ctx, "do-pause")
	key(kb.Enter)
	truth(t, ctx, "paused", `document.getElementById('part-now').innerText.includes('Paused')`)
	// Wrong input says what is wrong, and keeps what was typed.
	press("bar-trial")
	typed("trial-loft", "99deg")
	tabTo(t, ctx, "trial-start")
	key(kb.Enter)
	truth(t, ctx, "the fault is told", `document.querySelector('#sheet-trial .told').innerText.includes('see what is marked')`)
	truth(t, ctx, "the field says what is wrong", `document.getElementById('answer-trial-loft').innerText.includes('outside -5 to 80')`)
	truth(t, ctx, "at the field, which has the focus", `document.activeElement.id === 'trial-loft' && document.activeElement.ariaInvalid === 'true' && document.getElementById('answer-trial-loft')`)
	truth(t, ctx, "the value is still there", `document.getElementById('trial-loft').value === '99deg'`)
	key(kb.Escape)
	truth(t, ctx, "the focus is back where it came from", `document.activeElement.id === 'bar-trial'`)
}

func TestNothingIsWiderThanTheScreen(t *testing.T) {
	r := newRig(t)
	r.must("north", open("p-017"))
	names := []string{"own seven", "a rather long name of a build that a fitter typed in a hurry", "third"}
	for i, name := range names {
		a := r.must("north", start(name, i == 0, &event.Spec{Field: event.BuildField_BUILD_LENGTH, Number: 0.93 + 0.01*float64(i)},
			&event.Spec{Field: event.BuildField_BUILD_SHAFT_MODEL, Text: "Withy"}))
		r.until("the hub knows the trial", func() bool { s := r.state("north"); return s.Now.Trial == a.Trial })
		for k := range 8 {
			r.hit("north", 150+float64(k*k%7), float64(k*5%11)-5)
		}
	}
	r.until("all is weighed", func() bool { s := r.state("north"); return len(s.Shots) == 24 && len(s.Comparisons) == 2 })
	ctx := r.browse(t, "/bays/north")
	for _, path := range []string{"/bays/north", "/", "/people", "/bays/south"} {
		for _, width := range []int64{390, 1024, 1920} {
			do(t, ctx, chromedp.EmulateViewport(width, 900), chromedp.Navigate(r.url+path), chromedp.WaitReady("main"))
			wide := eval[[]string](t, ctx, `[...document.querySelectorAll('*')].filter(e => e.getBoundingClientRect().right > innerWidth + 1 && !e.closest('.skip, .shots, .chips, .strip, .top nav, svg')).map(e => e.tagName + '.' + e.className + ' ' + e.id)`)
			if len(wide) > 0 {
				t.Errorf("%s at %d: wider than the screen: %v", path, width, wide)
			}
			if dir := os.Getenv("FAIRLEAD_SCREENSHOTS"); dir != "" {
				page, err := chromedp.Run(ctx, chromedp.FullScreenshot(100))
				if err != nil {
					t.Fatal(err)
				}
				name := fmt.Sprintf("%s-%d.png", strings.Trim(strings.ReplaceAll(path, "/", "-"), "-")+"page", width)
				if err := os.WriteFile(filepath.Join(dir, name), page, 0o644); err != nil {
					t.Fatal(err)
				}
			}
		}
	}
	// However many bays there are, the tab of the one that is shown stays in view, whole.
	do(t, ctx, chromedp.EmulateViewport(390, 900), chromedp.Navigate(r.url+"/bays/north"), chromedp.WaitReady("main"))
	for _, place := range []string{"before", "after"} {
		tab := eval[[]float64](t, ctx, fmt.Sprintf(`(() => { const here = document.querySelector('#part-nav [aria-current]');
			for (let i = 0; i < 6; i++) { const other = here.cloneNode(true); other.removeAttribute('aria-current'); here.%s(other); }
			const n = here.parentElement.getBoundingClientRect(), b = here.getBoundingClientRect();
			return [n.left, n.right, b.left, b.right] })()`, place))
		if tab[2] < tab[0]-1 || tab[3] > tab[1]+1 {
			t.Errorf("with six bays %s it, the tab of the bay lies from %.0f to %.0f, what is seen from %.0f to %.0f", place, tab[2], tab[3], tab[0],
				tab[1])
		}
	}
	// What can be used has a name.
	do(t, ctx, chromedp.Navigate(r.url+"/bays/north"), chromedp.WaitReady("main"))
	nameless := eval[[]string](t, ctx, `[...document.querySelectorAll('input:not([type=hidden]), select, button')].filter(e => !(e.labels && e.labels.length) && !e.innerText.trim() && !e.textContent.trim() && !e.ariaLabel).map(e => e.outerHTML)`)
	if len(nameless) > 0 {
		t.Errorf("without a name: %v", nameless)
	}
}

func TestThePageUpdatesByItself(t *testing.T) {
	r := newRig(t)
	ctx := r.browse(t, "/bays/north")
	r.must("north", open("p-017")) // by another tablet, or the command line
	truth(t, ctx, "the session shows", `document.getElementById('part-now').innerText.includes('p-017')`)
	r.must("north", start("own seven", true))
	truth(t, ctx, "the trial shows", `document.getElementById('part-trials').innerText.includes('own seven')`)
	for i := range 6 {
		id := r.hit("north", 150+float64(i), float64(i)-3)
		truth(t, ctx, "the shot shows", fmt.Sprintf(`document.getElementById('s-%s')`, id))
	}
	truth(t, ctx, "the picture shows them", `document.querySelectorAll('#part-plot .shot').length === 6 && [...document.querySelectorAll('#part-figures figure')].find(f => f.innerText.includes('Strike')).querySelectorAll('.shot').length === 6`)
}
