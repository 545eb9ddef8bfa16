package console

import (
	"fmt"
	"net/url"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"fairlead/ingest/contract/event"
	"fairlead/processors/visit"
)

// Every way of entering something that the page offers has a form of it, and
// each form carries what it was made for.
func TestEveryActHasAFormWithItsGuard(t *testing.T) {
	page := ""
	for _, name := range []string{"parts", "sheets"} {
		text, err := files.ReadFile("templates/" + name + ".html")
		if err != nil {
			t.Fatal(err)
		}
		page += string(text)
	}
	for _, a := range visit.Acts() {
		if !strings.Contains(page, "/"+a.Name+`"`) && !strings.Contains(page, `"Act" "`+a.Name+`"`) && !onOrders[a.Name] {
			t.Errorf("no form enters %q", a.Name)
		}
	}
	for _, form := range strings.Split(page, "<form ")[1:] {
		form, _, _ = strings.Cut(form, "</form>")
		if !strings.Contains(form, `template "guard"`) {
			t.Errorf("a form without its session, trial and key: %.120s", form)
		}
	}
}

// onOrders are entered on the pages of orders, stock and players, whose own tests
// play them.
var onOrders = map[string]bool{"order": true, "shop": true, "built": true, "note": true, "measures": true, "bag": true,
	"account": true, "part": true, "stock": true, "testclub": true}

func count(log []*event.VisitEvent, kind string) (n int) {
	for _, ev := range log {
		if event.KindOf(ev) == kind {
			n++
		}
	}
	return n
}

func TestAFormIsTakenOnce(t *testing.T) {
	r := newRig(t)
	a := r.must("north", open("p-017"))
	form := "at_session=" + a.Session + "&at_trial=&key=k1&base=&name=own&gamer=1"
	for range 2 {
		if code, text := r.form("north", "trial", form); code != 200 {
			t.Fatalf("%d %s", code, text)
		}
	}
	if n := count(r.log("north"), "trial_started"); n != 1 {
		t.Errorf("%d trials of one form", n)
	}
	// A form of before the trial is refused, and says so.
	code, text := r.form("north", "trial", "at_session="+a.Session+"&at_trial=&key=k2&base=&name=second")
	if code != 409 || !strings.Contains(text, "the trial changed") {
		t.Errorf("%d %s", code, text)
	}
	b := r.must("north", open("p-018"))
	for _, act := range []string{"feel&trial=x&words=heavy", "close", "verdict&verdict=keep_gamer", "correct&hand=left",
		"open&player=p-019&category=iron"} {
		act, more, _ := strings.Cut(act, "&")
		if code, text := r.form("north", act, "at_session="+a.Session+"&key=k-"+act+"&"+more); code != 409 || !strings.Contains(text, "p-018") {
			t.Errorf("%s of another player's tab: %d %s", act, code, text)
		}
	}
	if tl := r.log("north"); count(tl, "session_opened") != 2 || count(tl, "session_closed") != 0 || count(tl, "verdict_given") != 0 {
		t.Error("a stale tab wrote something")
	}
	if code, _ := r.form("north", "close", "at_session="+b.Session+"&key=k9"); code != 200 {
		t.Error("a form of the session that is open is refused")
	}
}

func TestNamesAndWhatIsKnownOfPlayers(t *testing.T) {
	r := newRig(t)
	_, text := r.raw("POST", "/api/people", []byte(`{"role":"player","name":"Ada Quill","hand":"left"}`))
	id := strings.Split(strings.Split(string(text), `"id":"`)[1], `"`)[0]
	r.raw("POST", "/api/people", []byte(`{"id":"f-moss","role":"fitter","name":"Moss"}`))
	post := func(bay string, v url.Values) (int, string) { return r.form(bay, "open", v.Encode()) }
	if code, text := post("north", url.Values{"player": {"Bo Quill"}, "category": {"iron"}}); code != 422 ||
		!strings.Contains(text, "nobody of this name") {
		t.Errorf("%d %s", code, text)
	}
	if code, _, p := r.post("north", open("Quill")); code != 422 || p.Faults[0].Field != "player" {
		t.Errorf("a name as a pseudonym by the API: %d %+v", code, p)
	}
	if code, text := post("north", url.Values{"player": {"ada  quill"}, "category": {"iron"}, "fitter": {"Moss"},
		"consent": {"yes"}}); code != 200 {
		t.Fatalf("%d %s", code, text)
	}
	if code, text := r.form("north", "setting",
		"place=outdoor&target_distance=150yd&wind_speed=5m/s&ball_model=Buoy+Tour&ball_class=premium"); code != 200 {
		t.Fatalf("%d %s", code, text)
	}
	log := r.log("north")
	o := log[0].GetSessionOpened()
	if o.Player != id || o.Hand != event.Hand_HAND_LEFT || o.Fitter != "f-moss" || !o.PoolingConsent || log[0].Who != "f-moss" ||
		log[1].Who != "f-moss" {
		t.Errorf("opened %v", log)
	}
	_, raw := r.raw("GET", "/bays/north", nil)
	page := strings.ReplaceAll(string(raw), "\u00a0", " ")
	if !strings.Contains(page, "wind 5 m/s") || !strings.Contains(page, "target 137") || !strings.Contains(page, "by Moss") {
		t.Errorf("what holds now is not on the page: %.2000s", page[strings.Index(page, "part-now"):])
	}
	// Putting is no business of the wedge's target, and there is no wind inside.
	if code, text := post("north", url.Values{"player": {id}, "category": {"putter"}}); code != 200 {
		t.Fatalf("%d %s", code, text)
	}
	r.form("north", "setting", "place=indoor&target_distance=10ft")
	now := func() visit.Setting {
		l := &visit.Log{}
		for _, ev := range r.log("north") {
			l.Add(ev)
		}
		s := l.Timeline().Now()
		if s.Session.Hand != event.Hand_HAND_LEFT || !s.Session.Consent {
			t.Errorf("hand and consent do not come with the player: %+v", s.Session)
		}
		return s.Setting()
	}
	if s := now(); s.WindSpeed.Known || s.TargetDistance.Value != 3.048 {
		t.Errorf("inside %+v", s)
	}
	post("north", url.Values{"player": {id}, "category": {"wedge"}})
	if s := now(); s.TargetDistance.Known || s.Place != "indoor" {
		t.Errorf("a putting target judges wedges: %+v", s)
	}
	post("north", url.Values{"player": {id}, "category": {"iron"}})
	if s := now(); s.TargetDistance.Value < 137 || s.TargetDistance.Value > 138 {
		t.Errorf("the player's irons have no target: %+v", s)
	}
	// In a bay that knows no ball it is the player's of the last time.
	post("south", url.Values{"player": {id}, "category": {"iron"}})
	brought := false
	for _, ev := range r.log("south") {
		c := ev.GetSettingChanged()
		brought = brought || c.GetBallModel() == "Buoy Tour" && c.GetBallClass() == "premium" && c.GetTargetDistanceM() > 137
	}
	if !brought {
		t.Errorf("the player's ball and target do not come to another bay: %v", r.log("south"))
	}
	r.form("south", "close", "")
	// Somebody is erased when it was asked, by name, and nobody who is in a bay.
	ask := func(typed string) string {
		_, text := r.raw("POST", "/people/"+id+"/erase?typed="+typed, nil)
		return string(text)
	}
	if text := ask(""); !strings.Contains(text, "Erase Ada Quill?") {
		t.Errorf("%s", text)
	}
	if text := ask("Ada"); !strings.Contains(text, "as it stands on file") {
		t.Errorf("%s", text)
	}
	if text := ask("Ada+Quill"); !strings.Contains(text, "close it first") {
		t.Errorf("in the bay: %s", text)
	}
	r.must("north", &event.VisitEvent{Body: &event.VisitEvent_SessionClosed{SessionClosed: &event.SessionClosed{}}})
	if _, list := r.raw("GET", "/people", nil); !strings.Contains(string(list), "Ada Quill") {
		t.Error("erased without having been asked")
	}
	if text := ask("Ada+Quill"); !strings.Contains(text, "Take back") {
		t.Errorf("%s", text)
	}
	if _, text := r.raw("POST", "/people/"+id+"/keep", nil); strings.Contains(string(text), "Take back") ||
		!strings.Contains(string(text), "Ada Quill") {
		t.Errorf("taken back: %s", text)
	}
}

// Two tablets on one bay: what was left open on one does not reach the next
// player, what is typed stays, and two taps are one.
func TestTwoTabs(t *testing.T) {
	r := newRig(t)
	r.must("north", open("p-017"))
	own := r.must("north", start("own seven", true, &event.Spec{Field: event.BuildField_BUILD_LENGTH, Number: 0.94}))
	ctx := r.browse(t, "/bays/north")
	set := func(id, value string) {
		eval[bool](t, ctx, fmt.Sprintf(`(() => { const x = document.getElementById(%q); x.value = %q; x.dispatchEvent(new Event('input', {bubbles: true})); return true })()`, id, value))
	}
	tap := func(id string) { eval[bool](t, ctx, fmt.Sprintf(`(document.getElementById(%q).click(), true)`, id)) }
	// Words left unsent in the verdict hold up no other form.
	set("verdict-words", "keeps the flight down")
	second := r.must("north", start("longer", false, &event.Spec{Field: event.BuildField_BUILD_LENGTH, Number: 0.9525}))
	truth(t, ctx, "the feel form goes on", fmt.Sprintf(`document.querySelector('#feel-trial option[value=%q]')`, second.Trial))
	truth(t, ctx, "the verdict's words are still there", `document.getElementById('verdict-words').value === 'keeps the flight down'`)
	truth(t, ctx, "and the form says that the trial changed", `document.querySelector('#f-verdict .aged')`)
	// The base chooser shows the build that is chosen.
	set("trial-base", own.Trial)
	eval[bool](t, ctx, `document.getElementById('trial-base').dispatchEvent(new Event('change', {bubbles: true}))`)
	truth(t, ctx, "the parts of the build that is started from", `document.getElementById('trial-length').placeholder.includes('940')`)
	// Two taps are one trial.
	before := count(r.log("north"), "trial_started")
	set("trial-name", "own again")
	eval[bool](t, ctx, `(() => {
		const add = queue.add;
		window.adds = 0;
		queue.add = (path, body, says, how, then) => {
			const taken = then.taken;
			window.adds++;
			return add(path, body, says, how, {...then, taken: (text) => {
				taken(text);
				if (window.third !== undefined) return; // of the first tap alone
				document.getElementById('trial-start').click();
				window.third = window.adds === 1;
			}});
		};
		const b = document.getElementById('trial-start'); b.click(); b.click(); return true })()`)
	truth(t, ctx, "the trial runs", `document.getElementById('part-trials').innerText.includes('own again')`)
	truth(t, ctx, "a tap right after is the same tap", `window.third === true`)
	if n := count(r.log("north"), "trial_started"); n != before+1 {
		t.Errorf("%d trials of two taps", n-before)
	}
	// One tap says how it felt.
	tap("felt-better")
	truth(t, ctx, "it is noted", `document.getElementById('notice').innerText.includes('Feel of trial 3 noted')`)
	if n := count(r.log("north"), "feel_noted"); n != 1 {
		t.Errorf("%d feels", n)
	}
	// The next player came, on another tablet.
	r.must("north", open("p-018"))
	truth(t, ctx, "the page follows", `document.getElementById('part-now').innerText.includes('p-018')`)
	tap("verdict-go")
	truth(t, ctx, "the form is refused", `document.querySelector('#sheet-verdict .told').textContent.includes('this form was opened for p-017')`)
	truth(t, ctx, "what was typed stays", `document.getElementById('verdict-words').value === 'keeps the flight down'`)
	if n := count(r.log("north"), "verdict_given"); n != 0 {
		t.Errorf("%d verdicts by a stale tab", n)
	}
	// An answer stands at its field.
	tap("more-kind")
	set("class-length", "far")
	tap("class-go")
	truth(t, ctx, "the answer is at the field", `document.getElementById('class-length').getAttribute('aria-invalid') === 'true' && document.getElementById('answer-class-length')`)
	for _, width := range []int64{390, 1024} {
		do(t, ctx, chromedp.EmulateViewport(width, 900))
		truth(t, ctx, "and in view", `(() => { const b = document.getElementById('answer-class-length').getBoundingClientRect(); return b.width > 0 && b.top >= 0 && b.bottom <= innerHeight && document.documentElement.scrollWidth <= innerWidth })()`)
	}
}
