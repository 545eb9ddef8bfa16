package console

import (
	"fmt"
	"net/http"
	"net/url"
	"os"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"fairlead/deploy/axe"
	"fairlead/deploy/proof"
	"fairlead/ingest/contract/event"
)

// A returning player: the file is found, the bag entered by keyboard on one grid,
// and the next visit starts as the last one with one tap.
func TestAPlayersFile(t *testing.T) {
	r := newRig(t)
	r.decided()
	code, text := r.raw("POST", "/api/people", []byte(`{"id":"p-017","role":"player","name":"Ada Quill","hand":"right"}`))
	if code != http.StatusOK {
		t.Fatalf("%d %s", code, text)
	}
	ctx := r.browse(t, "/bays/north")
	script := axe.Script(t)
	visit := func(path string) { do(t, ctx, chromedp.Navigate(r.url+path), chromedp.WaitReady("main")) }
	look := func(name string) {
		t.Helper()
		eval[bool](t, ctx, script+`;true`)
		for _, l := range []struct {
			wide   int64
			scheme string
		}{{390, "light"}, {1024, "dark"}} {
			do(t, ctx, chromedp.EmulateViewport(l.wide, 844), scheme(l.scheme))
			if eval[bool](t, ctx, `document.documentElement.scrollWidth > innerWidth + 1`) {
				t.Errorf("%s runs out of the page at %d px", name, l.wide)
			}
			eval[bool](t, ctx, axe.Look("document"))
			truth(t, ctx, "the page is checked", `window.axeFound`)
			for _, line := range eval[[]string](t, ctx, `window.axeFound`) {
				t.Errorf("%s at %d px: %s", name, l.wide, line)
			}
			if dir := os.Getenv("FAIRLEAD_PICTURES"); dir != "" {
				picture, err := chromedp.Run(ctx, chromedp.FullScreenshot(100))
				if err != nil {
					t.Fatal(err)
				}
				os.WriteFile(fmt.Sprintf("%s/%s-%d.png", dir, name, l.wide), picture, 0o644)
			}
		}
	}
	found := func(word string, want bool) {
		t.Helper()
		_, page := r.visitPage("/players?find="+url.QueryEscape(word), nil)
		if strings.Contains(page, "/players/p-017") != want {
			t.Errorf("found by %q: not %v", word, want)
		}
	}
	for _, word := range []string{"quil", "p-017", "skerry", "Reed"} {
		found(word, true)
	}
	found("nobody’s", false)

	// Pain is noted, and the bay says so.
	visit("/players/p-017")
	eval[bool](t, ctx, `(document.getElementById('note-kind').value = 'pain', document.getElementById('note-words').value = 'left wrist', document.getElementById('note-go').click(), true)`)
	truth(t, ctx, "the caution stands on the file", `document.getElementById('pain') && document.getElementById('pain').innerText.includes('left wrist')`)
	if _, page := r.visitPage("/bays/north", nil); !strings.Contains(page, "left wrist") || !strings.Contains(page, "qualified person") {
		t.Error("the bay does not say that pain was noted")
	}
	post := func(act string, want int, pairs ...string) string {
		t.Helper()
		in := url.Values{}
		for i := 0; i < len(pairs); i += 2 {
			in.Set(pairs[i], pairs[i+1])
		}
		code, page := r.visitPage("/players/p-017/"+act, in)
		if code != want {
			t.Fatalf("%s %v: %d", act, pairs, code)
		}
		return page
	}
	post("note", 200, "kind", "aim", "words", "hold the long greens")
	post("note", 200, "kind", "next", "words", "needs time to warm up")
	if page := post("measures", 422, "wrist_floor", "9 m"); !strings.Contains(page, `data-refused="measures"`) {
		t.Error("a refused measure is not told")
	}
	post("measures", 200, "wrist_floor", "33 1/2 in", "glove", "ML", "key", "k-1")
	post("measures", 200, "wrist_floor", "33 1/2 in", "glove", "ML", "key", "k-1") // the tap came twice

	// The bag: names first, then column by column by keyboard alone.
	visit("/players/p-017/bag")
	eval[bool](t, ctx, `(document.getElementById('clubs').value = 'driver 5-6i pw 56 putter', document.getElementById('keep').click(), true)`)
	truth(t, ctx, "the clubs stand on the grid", `document.querySelectorAll('.bag tbody tr').length === 6 && document.documentElement.dataset.grid === 'ready'`)
	eval[bool](t, ctx, `(document.querySelector('input[name=how][value=measured]').click(), document.querySelector('[name="bag.driver.length"]').focus(), true)`)
	for _, text := range []string{"45 1/4", "38", "37.5?", "35 3/4", "35 1/2", "34", "10.5", "26", "29", "45", "56", "-"} {
		if text != "-" {
			do(t, ctx, chromedp.KeyEvent(text))
		}
		do(t, ctx, chromedp.KeyEvent(kb.Enter))
	}
	truth(t, ctx, "Enter goes down and on to the next column", `document.activeElement.name === 'bag.driver.lie'`)
	eval[bool](t, ctx, `(document.getElementById('keep').click(), true)`)
	truth(t, ctx, "what was typed is known", `document.querySelector('[name="bag.6i.loft"]') && document.querySelector('[name="bag.6i.loft"]').placeholder.startsWith('29') && document.querySelector('[name="bag.6i.length"]').className === ''`)
	page := post("bag", 422, "how", "measured", "bag.6i.loft", "steep", "bag.5i.loft", "25.5")
	if !strings.Contains(page, `value="25.5"`) || !strings.Contains(page, `data-field="6i.loft"`) {
		t.Error("a refused bag loses what was typed, or does not say what is wrong")
	}
	post("bag", 200, "how", "measured", "bag.6i.loft", "27.5", "key", "k-2")
	visit("/players/p-017/bag")
	truth(t, ctx, "the drift is told", `document.querySelector('.bag').innerText.includes('27.5')`)
	look("bag")
	visit("/players/p-017")
	look("player")
	for _, word := range []string{"hold the long greens", "warm up", "ML", "27.5", "as first known", "Reed 95"} {
		if !strings.Contains(eval[string](t, ctx, `document.body.innerText`), word) {
			t.Errorf("the file does not say %q", word)
		}
	}
	for _, path := range []string{"/players", "/players/p-017", "/players/p-017/bag", "/players/p-017/swing", "/players/due"} {
		_, text := r.visitPage(path, nil)
		proof.PlainWords(t, path, text)
	}
	visit("/players/due")
	look("due")
	testTheLists(t, r)

	// The next visit begins in another bay with one tap, the own club in hand.
	visit("/players/p-017")
	eval[bool](t, ctx, `(document.getElementById('start-bay').value = 'south', document.querySelector('#start button[value="6i"]').click(), true)`)
	truth(t, ctx, "the bay is open", `location.pathname === '/bays/south'`)
	events := r.log("south")
	opened, own := events[len(events)-2].GetSessionOpened(), events[len(events)-1].GetTrialStarted().GetBuild()
	if opened.GetPlayer() != "p-017" || opened.GetCategory() != "iron" || !opened.GetPoolingConsent() || !own.GetGamer() {
		t.Errorf("opened %v with %v", opened, own)
	}
	if v, ok := own.Number(event.BuildField_BUILD_LOFT); !ok || v != 27.5 {
		t.Errorf("the own club's loft: %v", v)
	}
	visit("/players?find=Ada")
	look("players")
	// Remembered after a restart.
	broker := r.nc.ConnectedUrl()
	r.stop()
	r.start(broker)
	if _, page := r.visitPage("/players/p-017", nil); !strings.Contains(page, "left wrist") || !strings.Contains(page, "27.5") {
		t.Error("the file is not the same after a restart")
	}
}
