package console

import (
	"context"
	"fmt"
	"net/url"
	"slices"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"fairlead/ingest/contract/event"
)

// turnsOf lists whose turn it was, one after another, by the session's player.
func turnsOf(r *rig) (who []string) {
	player := map[string]string{}
	for _, ev := range r.log("north") {
		if o := ev.GetSessionOpened(); o != nil {
			player[ev.Session] = o.Player
		}
		if ev.GetTurnTaken() != nil {
			who = append(who, player[ev.Session])
		}
	}
	return who
}

// Taps in quick succession on a page that is slow, answered by a console that is
// slow: each that says something is taken, once, in the order of the hand.
func TestNoTapIsLost(t *testing.T) {
	r := newRig(t)
	r.must("north", open("p-017"))
	own := r.must("north", start("own seven", true, &event.Spec{Field: event.BuildField_BUILD_LENGTH, Number: 0.94}))
	beside := open("p-044")
	beside.GetSessionOpened().Beside = true
	r.must("north", beside)
	r.must("north", start("her seven", true, &event.Spec{Field: event.BuildField_BUILD_LENGTH, Number: 0.92}))
	inside, _ := url.Parse(r.url)
	d := newDoor(t, inside.Host)
	outside := &rig{t: t, url: "http://" + d.listen.Addr().String()}
	ctx := outside.browse(t, "/bays/north")
	h := &hand{t: t, r: r, ctx: ctx}
	do(t, ctx, chromedp.EmulateViewport(390, 844), action(func(ctx context.Context, target *chromedp.Target) error {
		_, err := cdp.Call(ctx, target, emulation.SetCPUThrottlingRate, emulation.SetCPUThrottlingRateParams{Rate: 4})
		return err
	}))
	offered := func(who string) string {
		return fmt.Sprintf(`(b => b && b.innerText.startsWith(%q))(document.querySelector('#part-bar .turn'))`, who)
	}
	taken := func(what string, want ...string) {
		t.Helper()
		var got []string
		r.until(what, func() bool { got = turnsOf(r); return len(got) >= len(want) })
		if !slices.Equal(got, want) {
			t.Fatalf("%s: turns of %v, want %v", what, got, want)
		}
	}
	truth(t, ctx, "the first may be called", offered("p-017"))

	// The answer to a turn is on its way while the live page has long put the bar
	// anew: the next turn waits for it, and so does a word that is said then.
	eval[bool](t, ctx, `(() => {
		const real = window.fetch;
		window.fetch = async (path, how) => {
			const answer = await real(path, how), text = await answer.text();
			window.fetch = real;
			await new Promise((go) => { window.let = go; });
			return new Response(text, { status: answer.status, headers: answer.headers });
		};
		return true })()`)
	h.tap("#part-bar .turn")
	truth(t, ctx, "the answer is on its way", `window.let`)
	truth(t, ctx, "the page was told before the answer", offered("p-044"))
	h.tap("#felt-better")
	h.tap("#part-bar .turn")
	truth(t, ctx, "what is under way is said", `document.getElementById('waiting').innerText.includes('p-044')`)
	eval[bool](t, ctx, `(window.let(), true)`)
	want := []string{"p-017", "p-044"}
	taken("a slow answer", want...)
	truth(t, ctx, "nothing waits", `!document.querySelector('#waiting li')`)
	if log := r.log("north"); log[len(log)-2].GetFeelNoted().GetTrial() != own.Trial {
		t.Errorf("a word between two turns is another's, or lost: %v", log[len(log)-3:])
	}

	// As fast as the page shows it, with shots meanwhile.
	for i := range 6 {
		who := []string{"p-017", "p-044"}[i%2]
		truth(t, ctx, who+" may be called", offered(who))
		r.hit("north", 150+float64(i), float64(i)-3)
		h.tap("#part-bar .turn")
		want = append(want, who)
	}
	taken("one after another", want...)

	// The second half of a double tap meets what the first met, whatever came meanwhile.
	h.done("Turn of p-044") // the bar may have come before the answer
	truth(t, ctx, "the next", offered("p-017"))
	eval[bool](t, ctx, `(() => {
		const now = performance.now(), clock = performance.now, later = window.setTimeout;
		performance.now = () => now; // both halves within a moment, however long that takes here
		window.setTimeout = (f, ...how) => f.name === 'leave' ? 0 : later(f, ...how);
		const b = document.querySelector('#part-bar .turn'), at = b.getBoundingClientRect();
		window.secondTap = () => {
			const met = document.elementFromPoint(at.left + at.width / 2, at.top + at.height / 2);
			window.tapMet = met.textContent;
			met.click();
		};
		b.dispatchEvent(new PointerEvent('pointerdown', {bubbles: true}));
		b.click();
		b.dispatchEvent(new PointerEvent('pointerup', {bubbles: true}));
		performance.now = clock, window.setTimeout = later;
		return true })()`)
	h.done("Turn of p-017")
	truth(t, ctx, "the bar follows at once", offered("p-044"))
	eval[bool](t, ctx, `(window.secondTap(), true)`)
	truth(t, ctx, "taken once is said", `window.tapMet.startsWith('p-017') && document.getElementById('notice').innerText.includes('taken once')`)
	eval[bool](t, ctx, `(document.querySelector('.cover').remove(), true)`)
	want = append(want, "p-017")
	taken("a double tap", want...)

	// The page is left before the console heard of the tap.
	truth(t, ctx, "the bar follows", offered("p-044"))
	d.set(false, true)
	h.tap("#part-bar .turn")
	do(t, ctx, chromedp.Navigate("about:blank"))
	d.set(true, false)
	d.set(false, false)
	do(t, ctx, chromedp.Navigate(outside.url+"/bays/north"), chromedp.WaitReady("#part-bar"))
	want = append(want, "p-044")
	taken("a page that was left", want...)
	truth(t, ctx, "nothing waits", `!document.querySelector('#waiting li') && document.getElementById('link').textContent === 'live'`)

	// Away from the console a turn has its way back too: Undo is of what waits.
	truth(t, ctx, "the bar follows", offered("p-017"))
	d.set(true, false)
	truth(t, ctx, "no contact is said", `document.getElementById('link').textContent.includes('no contact')`)
	h.tap("#part-bar .turn")
	truth(t, ctx, "the turn waits", `document.querySelectorAll('#waiting li').length === 1`)
	h.tap("#undo")
	truth(t, ctx, "and Undo with it", `document.querySelectorAll('#waiting li').length === 2`)
	d.set(false, false)
	taken("a turn away from the console", append(want, "p-017")...)
	r.until("the turn is taken back", func() bool {
		log := r.log("north")
		last, before := log[len(log)-1], log[len(log)-2]
		return before.GetTurnTaken() != nil && last.GetVoided().GetEvent() == before.Id
	})
	truth(t, ctx, "the one who hit goes on", offered("p-017"))
}
