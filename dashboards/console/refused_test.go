package console

import (
	"fmt"
	"net/url"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"fairlead/processors/visit"
)

// refusal is one form with something in it that can't be taken.
type refusal struct {
	act   string // what it enters
	sheet string // that holds it; empty: the bar, or the page itself
	set   [][2]string
	send  string // button
	field string // at which the answer stands; empty: none is to blame, and the answer stands above the form
	of    string // form whose guard is of a session that is gone; empty: it is of now
}

// refusals has every form of the bay's page.
var refusals = []refusal{
	{act: "trial", sheet: "trial", set: [][2]string{{"trial-name", "longer"}, {"trial-loft", "99deg"}}, send: "trial-start",
		field: "trial-loft"},
	{act: "trial", sheet: "trial", set: [][2]string{{"trial-name", "longer"}, {"trial-grip_size", "wide"}}, send: "trial-start",
		field: "trial-grip_size"},
	{act: "draw", sheet: "trial", send: "draw-go", field: "lot-0"},
	{act: "open", sheet: "session", set: [][2]string{{"open-aim", "more height"}, {"open-player", "Bo Quill"}}, send: "open-go",
		field: "open-player"},
	{act: "open", sheet: "session", set: [][2]string{{"open-player", "p-044"}, {"open-fitter", "Moss Undine"}}, send: "open-go",
		field: "open-fitter"},
	{act: "correct", sheet: "session", set: [][2]string{{"correct-player", "Bo Quill"}}, send: "do-correct", field: "correct-player"},
	{act: "correct", sheet: "session", set: [][2]string{{"correct-player", ""}}, send: "do-correct", field: "correct-player"},
	{act: "join", sheet: "session", set: [][2]string{{"join-code", "ABCD-EFGH"}}, send: "do-join", field: "join-code"},
	{act: "feel", sheet: "feel", set: [][2]string{{"feel-words", ""}}, send: "feel-go", field: "feel-words"},
	{act: "instruct", sheet: "told", set: [][2]string{{"instruct-words", ""}}, send: "instruct-go", field: "instruct-words"},
	{act: "class", sheet: "kind", set: [][2]string{{"class-length", "far"}}, send: "class-go", field: "class-length"},
	{act: "intent", sheet: "kind", set: [][2]string{{"intent", "shaping"}}, send: "intent-go", of: "#f-intent"},
	{act: "hitter", sheet: "kind", set: [][2]string{{"hitter", "guest"}}, send: "hitter-go", of: "#f-hitter"},
	{act: "setting", sheet: "setting", set: [][2]string{{"set-ball", "Tern"}, {"set-wind", "windy"}}, send: "set-go", field: "set-wind"},
	{act: "setting", sheet: "setting", set: [][2]string{{"set-tee", "9 m"}}, send: "set-go", field: "set-tee"},
	{act: "amend", sheet: "amend", set: [][2]string{{"amend-name", "as weighed"}, {"amend-swing_weight", "heavy"}}, send: "amend-go",
		field: "amend-swing_weight"},
	{act: "verdict", sheet: "verdict", set: [][2]string{{"verdict-words", "keeps the flight down"}, {"verdict-trial", ""}}, send: "verdict-go",
		field: "verdict-trial"},
	{act: "check", sheet: "check", set: [][2]string{{"check-words", "as ordered"}, {"check-verdict", ""}}, send: "check-go",
		field: "check-verdict"},
	{act: "check", sheet: "check", set: [][2]string{{"check-loft", "steep"}}, send: "check-go", field: "check-loft"},
	{act: "move", sheet: "taps", set: [][2]string{{"tap-trial", ""}}, send: "tap-move", field: "tap-trial"},
	{act: "exclude", sheet: "taps", set: [][2]string{{"tap-reason", ""}}, send: "tap-exclude", field: "tap-reason"},
	{act: "mark", sheet: "taps", set: [][2]string{{"tap-class", "practice"}}, send: "tap-mark", of: "#f-taps"},
	{act: "restore", sheet: "taps", send: "tap-restore", of: "#f-taps"},
	{act: "unpair", sheet: "taps", send: "tap-unpair", of: "#f-taps"},
	{act: "undo", sheet: "history", send: "#part-history .history button", of: "#part-history .history form"},
	{act: "end", sheet: "more", send: "do-end", of: "#part-more form[action$=end]"},
	{act: "close", sheet: "more", send: "do-close", of: "#part-more form[action$=close]"},
	{act: "feel", send: "felt-better", of: "#part-bar form[action$=feel]"},
	{act: "instruct", send: "told-swing", of: "#part-bar form[action$=instruct]"},
	{act: "hitter", send: "hitter-fitter", of: "#part-bar form[action$=hitter]"},
	{act: "pause", send: "do-pause", of: "#part-bar form[action$=pause]"},
	{act: "undo", send: "undo", of: "#part-bar form[action$=undo]"},
}

// never are the acts that stand on the page only at times; their forms are made
// by the same templates, and have no field but the button.
var never = []string{"resume", "turn"}

// seen says whether a person sees an element as it is, without scrolling.
const seen = `(e => { const b = e.getBoundingClientRect(), x = b.left + Math.min(b.width / 2, 40), y = (b.top + b.bottom) / 2, top = document.elementFromPoint(x, y);
	return b.height > 0 && b.top >= 0 && b.bottom <= innerHeight + 1 && b.left >= 0 && b.right <= innerWidth + 1 && !!top && (e.contains(top) || top.contains(e)) })`

// answered is a condition of the page: the answer to a refused form can be read,
// at its field where one is to blame, which is marked and has the focus.
func (c refusal) answered() string {
	js := `[...document.querySelectorAll('.told .wrong, #notice .wrong')].some(` + seen + `)`
	if c.field != "" {
		js = fmt.Sprintf(`(() => { const e = document.getElementById(%q), a = document.getElementById('answer-%s');
			return a && a.textContent.length > 10 && %s(a) && %s(e) && e.ariaInvalid === 'true' && e.getAttribute('aria-describedby') === a.id && document.activeElement === e })()`, c.field, c.field, seen, seen)
	}
	for _, s := range c.set {
		js += fmt.Sprintf(` && document.getElementById(%q).value === %q`, s[0], s[1])
	}
	return js
}

// Every form that is refused says so where it can be read, at 390 and at 1024 px,
// marks the field that is to blame, and keeps what was typed.
func TestEveryRefusalIsInView(t *testing.T) {
	r := newRig(t)
	verdict := r.decided()
	var shots []string
	for i := range 4 {
		shots = append(shots, r.hit("north", 150+float64(i), float64(i)))
	}
	r.seen("north", "camera")
	ctx := r.browse(t, "/bays/north")
	truth(t, ctx, "the shots show", fmt.Sprintf(`document.getElementById('s-%s')`, shots[3]))
	forms := eval[[]string](t, ctx, `[...new Set([...[...document.forms].map(f => f.getAttribute('action')), ...[...document.querySelectorAll('[formaction]')].map(b => b.getAttribute('formaction'))])]`)
	for _, f := range forms {
		act := f[strings.LastIndex(f, "/")+1:]
		if !slices.ContainsFunc(refusals, func(r refusal) bool { return r.act == act }) && !slices.Contains(never, act) {
			t.Errorf("a form that no refusal was tried with: %s", f)
		}
	}
	for _, a := range visit.Acts() {
		if !onOrders[a.Name] && !slices.ContainsFunc(refusals, func(r refusal) bool { return r.act == a.Name }) &&
			!slices.Contains(never, a.Name) {
			t.Errorf("no refusal was tried of what enters %q", a.Name)
		}
	}
	for _, width := range []int64{390, 1024} {
		do(t, ctx, chromedp.EmulateViewport(width, 844))
		for _, c := range refusals {
			what := fmt.Sprintf("%s at %d px", c.act, width)
			button := c.send
			if !strings.Contains(button, " ") {
				button = "#" + button
			}
			// The sheet is opened, filled and sent as a hand does, without its ways.
			eval[bool](t, ctx, fmt.Sprintf(`(() => {
				for (const d of document.querySelectorAll('dialog[open]')) d.close();
				for (const f of document.querySelectorAll('form[data-form], #tap')) f.reset();
				for (const x of document.querySelectorAll('[data-dirty]')) delete x.dataset.dirty;
				for (const i of document.querySelectorAll('[data-was]')) { i.value = i.dataset.was; delete i.dataset.was; }
				for (const b of document.querySelectorAll('input[name=shot]')) b.checked = %q && b.value === %q;
				document.getElementById('notice').replaceChildren();
				const sheet = %q && document.getElementById('sheet-' + %q);
				if (sheet) sheet.showModal();
				for (const [id, text] of %s) { const e = document.getElementById(id); e.value = text; for (const k of ['input', 'change']) e.dispatchEvent(new Event(k, {bubbles: true})); }
				if (%q) for (const i of document.querySelectorAll(%q + ' input[name=at_session]')) { i.dataset.was = i.value; i.value = 's-gone'; }
				document.querySelector(%q).click();
				return true })()`, map[bool]string{true: "taps"}[c.sheet == "taps"], shots[0], c.sheet, c.sheet, list(c.set), c.of, c.of, button))
			holds(t, ctx, what+": the answer is in view, and what was typed stays", c.answered())
		}
	}
	// Whole pages: people, and what makes and moves an order.
	if code, _ := r.visitPage("/orders/new", url.Values{"verdict": {verdict.ID}, "clubs": {"7i"}, "key": {"k-order"}}); code != 200 {
		t.Fatalf("the order is not placed: %d", code)
	}
	number := r.log("north")[len(r.log("north"))-1].GetOrderPlaced().GetOrder()
	for _, width := range []int64{390, 1024} {
		do(t, ctx, chromedp.EmulateViewport(width, 844))
		for _, c := range []struct{ path, set, button, field, keeps string }{
			{"/people", `{'person-name': 'x\u0007y', 'person-note': 'left thumb', 'person-hand': 'left'}`, "#person-add", "person-name", "person-note"},
			{"/orders/new?verdict=" + verdict.ID, `{clubs: '7i 99x', words: 'by Friday'}`, "#look", "clubs", "words"},
			{"/orders/" + number, `{state: 'curing', holder: '', words: 'set cold'}`, "#go", "cure", "words"},
			{"/orders/" + number, `{'built-7i:part.lie': 'flat', 'built-7i:reason': 'second look'}`, "#built-7i button[value=passed]", "part.lie", "reason"},
			{"/orders/" + number, `{'built-7i:part.lie': '50', 'built-7i:who': 'Moss'}`, "#built-7i button[value=passed]", "", "who"},
		} {
			what := fmt.Sprintf("%s %s at %d px", c.path, c.button, width)
			do(t, ctx, chromedp.Navigate(r.url+c.path), chromedp.WaitReady("main"))
			eval[bool](t, ctx, fmt.Sprintf(`(() => { window.kept = ''; for (const [k, v] of Object.entries(%s)) { const [f, n] = k.includes(':') ? k.split(':') : ['', k];
				const e = f ? document.getElementById(f).elements[n] : document.getElementById(n) || document.querySelector('[name="' + n + '"]'); e.value = v; }
				document.querySelector(%q).click(); return true })()`, c.set, c.button))
			at := `document.querySelector('.answer') || document.getElementById('refused')`
			if c.field != "" {
				at = fmt.Sprintf(`document.getElementById(([...document.querySelectorAll('[aria-invalid=true]')].find(e => e.id === %q || e.name === %q) || document.body).getAttribute('aria-describedby'))`, c.field, c.field)
			}
			holds(t, ctx, what+": the answer is in view, and what was typed stays", fmt.Sprintf(`document.querySelector('[data-refused]') && (a => a && %s(a))(%s) && [...document.querySelectorAll('[id=%q], [name=%q]')].some(e => e.value !== '')`, seen, at, c.keeps, c.keeps))
		}
	}
}

// list writes pairs as the page reads them.
func list(pairs [][2]string) string {
	var all []string
	for _, p := range pairs {
		all = append(all, fmt.Sprintf("[%q, %q]", p[0], p[1]))
	}
	return "[" + strings.Join(all, ", ") + "]"
}
