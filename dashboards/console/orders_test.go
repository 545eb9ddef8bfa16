package console

import (
	"bytes"
	"context"
	"fmt"
	"net/http"
	"net/url"
	"os"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"fairlead/ingest/contract/event"
	"fairlead/processors/golf/club"
	bench "fairlead/processors/golf/club/order"
)

// decided opens a session, has a weighed 7-iron hit and chosen, and returns the
// verdict's event.
func (r *rig) decided() Answer {
	r.t.Helper()
	r.must("north", open("p-017"))
	own := r.must("north", start("own 7", true, &event.Spec{Field: event.BuildField_BUILD_LENGTH, Number: 37.5 * club.Inch}))
	var specs []*event.Spec
	for f, v := range map[event.BuildField]float64{event.BuildField_BUILD_LENGTH: 37 * club.Inch, event.BuildField_BUILD_LOFT: 33,
		event.BuildField_BUILD_LIE:          62,
		event.BuildField_BUILD_SWING_WEIGHT: club.SwingWeight(32).Moment(), event.BuildField_BUILD_HEAD_WEIGHT: 0.272,
		event.BuildField_BUILD_SHAFT_WEIGHT: 0.095,
		event.BuildField_BUILD_GRIP_WEIGHT:  0.05, event.BuildField_BUILD_TOTAL_WEIGHT: 0.423} {
		specs = append(specs, &event.Spec{Field: f, Number: v, Knowledge: event.Knowledge_KNOWLEDGE_MEASURED})
	}
	specs = append(specs, &event.Spec{Field: event.BuildField_BUILD_HEAD_MODEL, Text: "Skerry 2"},
		&event.Spec{Field: event.BuildField_BUILD_SHAFT_MODEL, Text: "Reed 95"})
	hit := r.must("north", start("Reed 95", false, specs...))
	build := start("Reed 95", false, specs...).GetTrialStarted().Build
	return r.must("north", &event.VisitEvent{Body: &event.VisitEvent_VerdictGiven{VerdictGiven: &event.VerdictGiven{
		Kind: event.VerdictKind_VERDICT_BUILD, Trial: hit.Trial, Baseline: own.Trial, Build: build}}})
}

// page gets a page, or posts a form where there are values; redirects are followed.
func (r *rig) visitPage(path string, values url.Values) (int, string) {
	r.t.Helper()
	var answer *http.Response
	var err error
	if values == nil {
		answer, err = http.Get(r.url + path)
	} else {
		answer, err = http.PostForm(r.url+path, values)
	}
	return r.told(answer, err)
}

// set orders clubs of a verdict's build.
func (r *rig) set(t *testing.T, verdict, clubs string) string {
	t.Helper()
	if code, text := r.visitPage("/orders/new", url.Values{"bay": {"north"}, "verdict": {verdict}, "clubs": {clubs}}); code != http.StatusOK {
		t.Fatalf("%s: %d %.2000s", clubs, code, text)
	}
	log := r.log("north")
	return log[len(log)-1].GetOrderPlaced().GetOrder()
}

// sides counts the sides of A4 that the page takes on paper.
func sides(t *testing.T, ctx context.Context) int {
	t.Helper()
	pdf, err := chromedp.Run(ctx, func(ctx context.Context, target *chromedp.Target) ([]byte, error) {
		printed, err := cdp.Call(ctx, target, page.PrintToPDF, page.PrintToPDFParams{PaperWidth: 8.27, PaperHeight: 11.69})
		if err != nil {
			return nil, err
		}
		return printed.Data, nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return bytes.Count(pdf, []byte("/Type /Page\n"))
}

// From the verdict to the delivered set, with two people at the board: one in
// Chromium, one elsewhere.
func TestAnOrderGoesFromTheVerdictToThePlayer(t *testing.T) {
	r := newRig(t)
	verdict := r.decided()
	ctx := r.browse(t, "/orders/")
	shot := func(name string, wide int64) {
		do(t, ctx, chromedp.EmulateViewport(wide, 900))
		if eval[bool](t, ctx, `document.documentElement.scrollWidth > innerWidth + 1`) {
			t.Errorf("%s runs out of the page at %d px", name, wide)
		}
		for _, clipped := range eval[[]string](t, ctx, `[...document.querySelectorAll('input')].filter((x) => {
			const s = getComputedStyle(x), c = document.createElement('canvas').getContext('2d');
			c.font = s.font;
			return x.offsetParent && x.type === 'text' && c.measureText(x.value || x.placeholder).width >
				x.clientWidth - parseFloat(s.paddingLeft) - parseFloat(s.paddingRight) + 1;
		}).map((x) => x.name + ' ' + (x.value || x.placeholder))`) {
			t.Errorf("%s at %d px does not show whole what stands in %s", name, wide, clipped)
		}
		if dir := os.Getenv("FAIRLEAD_PICTURES"); dir != "" {
			picture, err := chromedp.Run(ctx, chromedp.CaptureScreenshot())
			if err != nil {
				t.Fatal(err)
			}
			os.WriteFile(fmt.Sprintf("%s/%s-%d.png", dir, name, wide), picture, 0o644)
		}
	}
	visit := func(path string) { do(t, ctx, chromedp.Navigate(r.url+path), chromedp.WaitReady("body")) }
	// press does what a thumb does, and waits for the page that answers.
	press := func(what, js string) {
		t.Helper()
		eval[bool](t, ctx, `(window.before = true, (() => {`+js+`})(), true)`)
		truth(t, ctx, what, `!window.before && document.readyState === 'complete'`)
	}
	says := func(what, js string) {
		t.Helper()
		if !eval[bool](t, ctx, "!!("+js+")") {
			t.Errorf("%s: not so at %v; the page says %s", what, eval[float64](t, ctx, `scrollY`), eval[string](t, ctx,
				`[...document.querySelectorAll('#refused, .tag, #takeback')].map(e => e.innerText.trim()).join(' | ')`))
		}
	}
	takeBack := func(what string) {
		t.Helper()
		says("it offers to take back "+what, fmt.Sprintf(`document.getElementById('takeback').innerText.includes(%q)`, what))
		press("taken back: "+what, `document.getElementById('undo').click()`)
	}

	// The set is drafted, a figure is fixed, and the order placed.
	visit("/orders/new?bay=north&verdict=" + verdict.ID)
	eval[bool](t, ctx, `(document.getElementById('clubs').value = '6i 7i pw', document.getElementById('look').click(), true)`)
	truth(t, ctx, "the set is worked out", `document.getElementById('fix.pw.head_weight')`)
	shot("draft", 390)
	shot("draft", 1024)
	eval[bool](t, ctx, `(document.getElementById('fix.6i.lie').value = '61', document.getElementById('place').click(), true)`)
	truth(t, ctx, "it is placed", `location.pathname.length === '/orders/K7P4XAR'.length`)
	number := strings.TrimPrefix(eval[string](t, ctx, "location.pathname"), "/orders/")
	truth(t, ctx, "its mark is drawn", `document.querySelector('svg.qr path')`)
	if _, err := bench.ParseNumber(number); err != nil {
		t.Errorf("number %q: %v", number, err)
	}
	shot("order", 390)
	placed := r.log("north")[len(r.log("north"))-1].GetOrderPlaced()
	if len(placed.GetClubs()) != 3 || len(placed.Clubs[0].Fixed) != 1 || placed.Clubs[0].Build.Spec(event.BuildField_BUILD_LIE).Number != 61 {
		t.Fatalf("placed: %v", placed)
	}

	// Another person works on it; the board follows by itself.
	visit("/orders/")
	shop := func(values ...string) (int, string) {
		in := url.Values{}
		for i := 0; i < len(values); i += 2 {
			in.Set(values[i], values[i+1])
		}
		act := "shop"
		if in.Has("judgement") {
			act = "built"
		}
		return r.visitPage("/orders/"+strings.ToLower(bench.Label(number))+"/"+act, in)
	}
	taken := func(values ...string) {
		t.Helper()
		if code, text := shop(values...); code != http.StatusOK {
			t.Fatalf("%v: %d %s", values, code, text)
		}
	}
	refused := func(word string, values ...string) {
		t.Helper()
		if code, text := shop(values...); code != http.StatusUnprocessableEntity || !strings.Contains(text, word) {
			t.Errorf("%v: %d, and %q is not said", values, code, word)
		}
	}
	taken("state", "in work", "waits_for", "heavy grips")
	truth(t, ctx, "the board shows who waits for what", fmt.Sprintf(`document.querySelector('#o-%s') && document.querySelector('#o-%s').innerText.includes('heavy grips')`, number, number))
	refused("no time to cure", "state", "curing")
	taken("state", "curing", "cure", "24h")
	truth(t, ctx, "the board shows the cure", fmt.Sprintf(`document.querySelector('#o-%s').innerText.includes('cures until')`, number))
	shot("board", 390)
	shot("board", 1024)

	// The bench, by thumb: out of tolerance it does not pass, and what was typed stays;
	// it goes back to the hands, is taken back, made anew, and passes when it is right.
	refused("missing", "row", "7i", "judgement", "rework", "part.length", "37.5in")
	refused("no club of this order", "row", "4i", "judgement", "passed", "part.lie", "62")
	visit("/orders/" + number)
	do(t, ctx, chromedp.EmulateViewport(390, 844))
	judge := func(row, judgement string, typed ...string) {
		t.Helper()
		js := fmt.Sprintf(`const f = document.getElementById('built-%s'), d = f.closest('details'); if (d) d.open = true;`, row)
		for i := 0; i < len(typed); i += 2 {
			js += fmt.Sprintf("f.elements[%q].value = %q;", typed[i], typed[i+1])
		}
		press(row+" "+judgement, js+fmt.Sprintf("f.querySelector('button[value=%s]').click()", judgement))
	}
	stands := func(row, state string) {
		t.Helper()
		says(row+" stands at "+state, fmt.Sprintf(`document.querySelector('#club-%s .tag').innerText === %q`, row, state))
	}
	judge("7i", "passed", "part.length", "37.5in", "part.lie", "62")
	says("it is beyond the tolerance, in view", `(() => { const n = document.querySelector('#built-7i .answer'), b = n.getBoundingClientRect();
		return n.innerText.startsWith('length is 11.1 mm (0.44 in) beyond the tolerance') && b.top >= 0 && b.bottom <= innerHeight })()`)
	says("what was typed stays", `document.getElementById('built-7i').elements['part.length'].value === '37.5in'`)
	shot("beyond", 390)
	for _, judgement := range []string{"rework", "remake"} {
		judge("7i", judgement, "part.length", "37.5in", "reason", "cut half an inch long")
		stands("7i", judgement)
		says("the bench is still at the club", `(() => { const b = document.getElementById('club-7i').getBoundingClientRect();
			return b.top < innerHeight && b.bottom > 0 })()`)
	}
	says("what was measured of the club that is thrown away is not the new one's",
		`document.getElementById('built-7i').elements['part.length'].value === ''`)
	shot("remake", 390)
	takeBack("7i")
	stands("7i", "rework")
	for _, name := range []string{"6i", "pw"} {
		judge(name, "passed", "part.lie", "63", "reason", "the player agreed")
		stands(name, "passed")
	}
	step := func(state, cure string) {
		t.Helper()
		press(state, fmt.Sprintf(`document.getElementById('state').value = %q; document.getElementById('cure').value = %q;
			document.getElementById('go').click()`, state, cure))
	}
	step("ready", "")
	says("it cures", `document.getElementById('refused').innerText.includes('cures for 24 h more')`)
	for range 3 {
		visit("/orders/" + number)
		takeBack("") // both clubs, and the rework: what is left is the step
	}
	takeBack("curing")
	says("the step is taken back", `document.querySelector('h1 .tag').innerText === 'in work'`)
	// Long enough that it is not over before a busy console has written it down.
	step("curing", "2s")
	for _, name := range []string{"6i", "pw"} {
		judge(name, "passed", "part.lie", "63", "reason", "the player agreed")
	}
	judge("7i", "rework", "part.length", "37.5in", "reason", "cut half an inch long")
	r.until("it has cured, and the bench keeps it back", func() bool {
		code, text := shop("state", "ready")
		return code == http.StatusUnprocessableEntity && strings.Contains(text, "7i (rework)")
	})
	judge("7i", "passed", "part.length", "37in", "part.lie", "62", "part.swing_weight", "D2")
	stands("7i", "passed")
	visit("/orders/")
	taken("state", "ready")
	taken("state", "delivered")
	truth(t, ctx, "the board says that it is delivered", fmt.Sprintf(`document.querySelector('#o-%s .tag').innerText === 'delivered'`, number))

	// Collected in another bay, the finished club is hit there and held against its
	// promise; then nothing but the month's check is due.
	visit("/orders/" + number)
	eval[bool](t, ctx, `(document.getElementById('hit-bay').value = 'south', document.querySelector('#hitcheck button[value="7i"]').click(), true)`)
	truth(t, ctx, "the other bay is open", `location.pathname === '/bays/south'`)
	south := r.log("south")
	hit := south[len(south)-1].GetTrialStarted()
	if hit.GetBuild().GetGamer() || hit.GetBuild().Spec(event.BuildField_BUILD_LIE).GetNumber() != 62 ||
		south[len(south)-2].GetSessionOpened().GetPlayer() != "p-017" {
		t.Errorf("hit check begins with %v", hit)
	}
	if code, text := r.form("south", "check", url.Values{"verdict": {verdict.ID}, "trial": {hit.GetTrial()}}.Encode()); code != 200 {
		t.Errorf("hit check: %d %s", code, text)
	}
	if _, text := r.visitPage("/players/p-017", nil); strings.Contains(text, "hit check, 6i 7i pw") ||
		!strings.Contains(text, "thirty days, 6i 7i pw") {
		t.Error("what is due after a hit check is not the month's alone")
	}
	visit("/orders/" + number)

	// Found by anything that is known of it, printed, and known after a restart.
	for _, word := range []string{"p-017", bench.Label(number), "skerry"} {
		if code, text := r.visitPage("/orders/?find="+url.QueryEscape(word), nil); code != http.StatusOK ||
			!strings.Contains(text, `id="found"`) || strings.Contains(text, "No order has it") {
			t.Errorf("found by %q: %d", word, code)
		}
	}
	if code, text := r.visitPage("/orders/"+number+"/paper", nil); code != http.StatusOK || !strings.Contains(text, "data sheet") ||
		!strings.Contains(text, "940\u00a0mm") {
		t.Errorf("paper: %d %s", code, text)
	}
	set := r.set(t, verdict.ID, "4i 5i 6i 7i 8i 9i pw gw")
	for order, most := range map[string]int{number: 2, set: 3} {
		visit("/orders/" + order + "/paper")
		if pages := sides(t, ctx); pages > most {
			t.Errorf("the paper of order %s takes %d sides, at most %d", order, pages, most)
		}
	}
	visit("/orders/" + number)
	shot("built", 390)
	shot("built", 1024)
	broker := r.nc.ConnectedUrl()
	r.stop()
	r.start(broker)
	if code, text := r.visitPage("/orders/"+number, nil); code != http.StatusOK || !strings.Contains(text, "delivered") {
		t.Errorf("after a restart: %d", code)
	}
	wrong := "2" + number[1:]
	if wrong == number {
		wrong = "3" + number[1:]
	}
	if code, text := r.visitPage("/orders/"+wrong, nil); code != http.StatusNotFound || !strings.Contains(text, "mistyped") {
		t.Errorf("a mistyped number: %d %s", code, text)
	}
}
