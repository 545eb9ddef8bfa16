package console

import (
	"fmt"
	"net/url"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"fairlead/ingest/contract/event"
)

// Two players share a bay, one of them left-handed: a tap says whose turn it is, each
// goes on with the club in hand, and each is compared with the own baseline.
func TestTwoPlayersTakeTurns(t *testing.T) {
	r := newRig(t)
	ctx := r.browse(t, "/bays/north")
	h := &hand{t: t, r: r, ctx: ctx}
	length := func(m float64) *event.Spec { return &event.Spec{Field: event.BuildField_BUILD_LENGTH, Number: m} }
	hits := func(n int) {
		for i := range n {
			r.hit("north", 148+float64(i*5%7), float64(i*3%5)-2)
		}
	}
	r.must("north", open("p-017"))
	first := r.must("north", start("own seven", true, length(0.94)))
	hits(3)
	do(t, ctx, chromedp.EmulateViewport(390, 844))
	truth(t, ctx, "the first is there", `document.getElementById('part-now').innerText.includes('p-017') && !document.querySelector('#part-bar .turn')`)
	press := func(selectors ...string) { // what is in reach, while the page moves with every shot
		t.Helper()
		for _, id := range selectors {
			h.at(id)
			eval[bool](t, ctx, fmt.Sprintf(`(document.querySelector(%q).click(), true)`, id))
		}
	}
	press("#bar-more", "#more-session", "#open-beside")
	eval[bool](t, ctx, `(document.getElementById('open-player').value = 'p-044', true)`)
	eval[bool](t, ctx, `(document.getElementById('open-hand').value = 'left', true)`)
	press("#open-go")
	h.done("Session opened for p-044")
	second := r.must("north", start("her seven", true, length(0.92)))
	hits(2)
	shown := func(who, trial string, n int) {
		t.Helper()
		hits(1)
		r.until("the shot is of "+who, func() bool {
			s := r.state("north")
			return s.Session.Player == who && s.Now.Trial == trial && len(s.Trials) > 0 && s.Trials[0].N == n
		})
	}
	press("#part-bar .turn")
	h.done("Turn of p-017")
	truth(t, ctx, "the first is on the page again, the other waits", `document.querySelector('#part-now h1').innerText.startsWith('p-017') &&
		![...document.querySelectorAll('#part-bar .turn')].some(x => x.innerText.includes('p-017'))`)
	h.picture("turns-390")
	shown("p-017", first.Trial, 4)
	// From here on by a program.
	turn := func(who, trial string, n int) {
		t.Helper()
		if code, text := r.form("north", "turn", url.Values{"player": {who}}.Encode()); code != 200 {
			t.Fatalf("turn of %s: %d %s", who, code, text)
		}
		shown(who, trial, n)
	}
	turn("p-044", second.Trial, 3)
	turn("p-017", first.Trial, 5)
	longer := r.must("north", start("longer", false, length(0.96)))
	hits(1)
	r.until("what is compared is of one player's clubs", func() bool {
		s := r.state("north")
		return len(s.Trials) == 2 && s.Trials[1].ID == longer.Trial && s.Incumbent == s.Trials[0].Key && s.Trials[0].ID == first.Trial
	})
	turn("p-044", second.Trial, 4)
	if s := r.state("north"); s.Session.Hand != "left" || len(s.Trials) != 1 {
		t.Errorf("the left-hander's session: %+v", s.Session)
	}
	if code, text := r.form("north", "turn", url.Values{"player": {"p-099"}}.Encode()); code < 400 || !strings.Contains(text, "p-017") {
		t.Errorf("turn of a stranger: %d", code)
	}
	r.must("north", &event.VisitEvent{Body: &event.VisitEvent_SessionClosed{SessionClosed: &event.SessionClosed{}}})
	turn("p-017", longer.Trial, 5)
}
