package console

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"fairlead/deploy/engine/enginetest"
	"fairlead/processors/hub/store"
)

// hand is a fitter's hand on a tablet: what it taps has to be in view and under
// the finger, and each tap counts.
type hand struct {
	t    *testing.T
	r    *rig
	ctx  context.Context
	taps int
	keys int
}

// at is where the middle of an element is on the screen, once it is; within a
// sheet or a list the hand scrolls to it, which is no tap.
func (h *hand) at(selector string) (x, y float64) {
	h.t.Helper()
	find := fmt.Sprintf(`(() => {
		const e = document.querySelector(%q);
		if (!e || e.disabled) return false;
		const met = () => {
			const b = e.getBoundingClientRect(), x = b.left + b.width / 2, y = b.top + b.height / 2, top = document.elementFromPoint(x, y);
			return !!top && (top === e || e.contains(top) || top.closest('label') && top.closest('label').control === e) && (window.tapAt = [x, y]);
		};
		const b = e.getBoundingClientRect(), inside = b.top >= 0 && b.bottom <= innerHeight && b.left >= 0 && b.right <= innerWidth;
		if (!inside || !met()) e.scrollIntoView({block: 'center', inline: 'center'}); // or it lies below what stays on the screen
		return met();
	})()`, selector)
	truth(h.t, h.ctx, "within reach: "+selector, find)
	p := eval[[]float64](h.t, h.ctx, fmt.Sprintf(heed, selector))
	return p[0], p[1]
}

// heed notes whether the next click meets what was meant.
const heed = `(() => {
	const meant = %q, met = (e) => { window.tapMet = window.tapMet || !!e.target.closest(meant); };
	window.tapMet = false;
	document.removeEventListener('click', window.tapHeed, true);
	document.addEventListener('click', window.tapHeed = met, true);
	return window.tapAt;
})()`

// missed says that a tap met something else: the page moved between the look
// and the finger. A hand taps again, and that counts.
func (h *hand) missed() bool {
	h.t.Helper()
	missed := eval[bool](h.t, h.ctx, `window.tapMet === false`)
	if missed {
		h.t.Log("a tap met nothing, for the page moved")
	}
	return missed
}

func (h *hand) tap(selectors ...string) {
	h.t.Helper()
	for _, s := range selectors {
		for again := true; again; again = h.missed() {
			x, y := h.at(s)
			do(h.t, h.ctx, chromedp.MouseClickXY(x, y))
			h.taps++
		}
	}
}

// write taps a field and types into it.
func (h *hand) write(selector, text string) {
	h.t.Helper()
	h.tap(selector)
	eval[bool](h.t, h.ctx, `(document.activeElement.select && document.activeElement.select(), true)`)
	do(h.t, h.ctx, chromedp.KeyEvent(text))
	h.keys += len([]rune(text))
}

// choose picks one of a list: the list is opened and its line tapped.
func (h *hand) choose(selector, value string) {
	h.t.Helper()
	h.at(selector)
	eval[bool](h.t, h.ctx, fmt.Sprintf(`(() => { const e = document.querySelector(%q); e.value = %q; for (const k of ['input', 'change']) e.dispatchEvent(new Event(k, {bubbles: true})); return e.value === %q })()`, selector, value, value))
	h.taps += 2
}

// done waits for what the console answers.
func (h *hand) done(words string) {
	h.t.Helper()
	truth(h.t, h.ctx, words, fmt.Sprintf(`!document.querySelector('dialog[open]') && document.getElementById('notice').innerText.includes(%q)`, words))
}

// picture keeps what the hand sees, where somebody asked for it.
func (h *hand) picture(name string) {
	if dir := os.Getenv("FAIRLEAD_SCREENSHOTS"); dir != "" {
		png, err := chromedp.Run(h.ctx, chromedp.CaptureScreenshot())
		if err == nil {
			err = os.WriteFile(filepath.Join(dir, name+".png"), png, 0o644)
		}
		if err != nil {
			h.t.Error(err)
		}
	}
}

// mostTaps is what a whole visit may take: a session, the own club, three
// trials with their feel, who hits, an instruction, a pause, a shot set right,
// and the verdict with its sheet.
const mostTaps = 50

// Whole visits, played with a thumb: the taps are counted.
func TestAWholeVisitInFewTaps(t *testing.T) {
	r := newRigWith(t, nil, store.New(enginetest.New(t).Open(t)))
	ctx := r.browse(t, "/bays/north")
	for i, c := range []struct {
		category, player string
		own              [][2]string // parts of the own club
		trials           [3][]string // what is tapped for each
		named            [3]string
	}{
		{"iron", "p-101", [][2]string{{"length", "37 1/2"}, {"loft", "31"}, {"lie", "62"}},
			[3][]string{{"length-more"}, {"lie-more", "lie-more"}, {"loft-less"}}, [3]string{"½ in longer", "2° up", "1° stronger"}},
		{"driver", "p-102", [][2]string{{"length", "45,5 in"}, {"loft", "10.5"}, {"swing_weight", "D2"}},
			[3][]string{{"loft-more"}, {"length-less"}, {"loft-less"}}, [3]string{"1° weaker", "½ in shorter", "1° stronger"}},
		{"wedge", "p-103", [][2]string{{"length", "35½"}, {"loft", "56°"}, {"lie", "64"}},
			[3][]string{{"loft-more"}, {"lie-less"}, {"length-more"}}, [3]string{"1° weaker", "1° flat", "½ in longer"}},
		{"putter", "p-104", [][2]string{{"length", "34 in"}, {"loft", "3"}, {"lie", "70"}},
			[3][]string{{"length-less"}, {"lie-more"}, {"loft-more"}}, [3]string{"½ in shorter", "1° up", "1° weaker"}},
	} {
		if i%3 != 0 && os.Getenv("FAIRLEAD_PROVE") == "" {
			continue // irons and putter by every run, the others by `make prove`
		}
		width := []int64{390, 1024}[i%2]
		do(t, ctx, chromedp.EmulateViewport(width, 844))
		h := &hand{t: t, r: r, ctx: ctx}
		hits := 0
		hit := func(n int) {
			t.Helper()
			for range n {
				hits++
				id := r.hit("north", 140+float64(hits*hits%7), float64(hits*5%11)-5)
				truth(t, ctx, "the shot shows", fmt.Sprintf(`document.getElementById('s-%s') || document.getElementById('l-%s')`, id, id))
			}
		}
		if i == 0 {
			h.tap("#bar-session")
		} else {
			h.tap("#bar-more", "#more-session")
		}
		h.write("#open-player", c.player)
		h.tap("#open-"+c.category, "#open-go")
		truth(t, ctx, "the session is open", fmt.Sprintf(`document.getElementById('part-now').innerText.includes(%q)`, c.player))
		h.tap("#bar-trial")
		for _, p := range c.own {
			h.write("#trial-"+p[0], p[1])
		}
		h.picture(fmt.Sprintf("grid-%s-%d", c.category, width))
		h.tap("#trial-start")
		h.done("Trial 1 started: own club")
		hit(2)
		for n, taps := range c.trials {
			h.tap("#bar-trial")
			for _, x := range taps {
				h.tap("#trial-" + x)
			}
			if n == 0 {
				h.picture(fmt.Sprintf("stepped-%s-%d", c.category, width))
			}
			h.tap("#trial-start")
			h.done(fmt.Sprintf("Trial %d started: %s", n+2, c.named[n]))
			hit(1)
			h.tap([]string{"#felt-better", "#felt-worse", "#felt-same"}[n])
			h.done(fmt.Sprintf("Feel of trial %d noted", n+2))
		}
		h.tap("#hitter-fitter")
		truth(t, ctx, "the fitter hits", `document.getElementById('hitter-player')`)
		hit(1)
		h.tap("#hitter-player")
		truth(t, ctx, "the player hits", `document.getElementById('hitter-fitter')`)
		h.tap("#told-setup")
		h.done("Instruction: “set-up”")
		h.tap("#undo")
		truth(t, ctx, "it may be had back", `document.querySelector('#redo:not([disabled])[title*=instruction]')`)
		h.tap("#redo")
		truth(t, ctx, "it is back", `document.querySelector('#undo[title*=instruction]')`)
		h.tap("#do-pause")
		truth(t, ctx, "paused", `document.getElementById('do-resume')`)
		h.tap("#do-resume")
		truth(t, ctx, "it goes on", `document.getElementById('do-pause')`)
		h.tap(".shots li label", "#bar-taps") // the last one was hit before the club was entered
		before := eval[string](t, ctx, `[...document.getElementById('tap-trial').options].find(o => o.textContent.startsWith('3 ')).value`)
		h.choose("#tap-trial", before)
		h.tap("#tap-move")
		h.done("1 shot moved to trial 3")
		h.tap("#bar-verdict")
		h.tap("#verdict-go")
		truth(t, ctx, "the sheet is there", `document.getElementById('sheet') && !document.querySelector('dialog[open]')`)
		h.picture(fmt.Sprintf("visit-%s-%d", c.category, width))
		sheet := eval[string](t, ctx, `document.getElementById('sheet').getAttribute('href')`)
		r.until("the verdict is stored", func() bool { code, _ := r.raw("GET", sheet, nil); return code == 200 })
		h.tap("#sheet")
		truth(t, ctx, "the sheet shows the build", fmt.Sprintf(`location.pathname.startsWith('/sheets/') && document.body && document.body.innerText.includes(%q)`, c.named[2]))
		t.Logf("%s at %d px: %d taps, %d keys", c.category, width, h.taps, h.keys)
		if h.taps > mostTaps {
			t.Errorf("%s: %d taps, at most %d", c.category, h.taps, mostTaps)
		}
		if s := r.state("north"); len(s.Trials) < 4 || s.Session == nil || s.Session.Category != c.category ||
			strings.Contains(s.Trials[3].Name, "mm") {
			t.Errorf("%s: %+v", c.category, s.Session)
		}
		do(t, ctx, chromedp.Navigate(r.url+"/bays/north"), chromedp.WaitReady("#part-bar"))
		truth(t, ctx, "the page is live", `document.getElementById('link').textContent === 'live'`)
	}
}
