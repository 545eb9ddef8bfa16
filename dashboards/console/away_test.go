package console

import (
	"fmt"
	"io"
	"net"
	"net/http"
	"net/url"
	"strings"
	"sync"
	"testing"

	"github.com/chromedp/chromedp"
)

// door stands between a tablet and the console: it can be shut, so that nothing
// connects, and stopped, so that what is connected hears nothing.
type door struct {
	listen  net.Listener
	to      string
	mu      sync.Mutex
	moved   *sync.Cond
	shut    bool
	stopped bool
	open    map[net.Conn]bool
	wait    sync.WaitGroup
}

func newDoor(t *testing.T, to string) *door {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	d := &door{listen: l, to: to, open: map[net.Conn]bool{}}
	d.moved = sync.NewCond(&d.mu)
	d.wait.Go(func() {
		for {
			in, err := l.Accept()
			if err != nil {
				return
			}
			d.mu.Lock()
			shut := d.shut
			if !shut {
				d.open[in] = true
			}
			d.mu.Unlock()
			if shut {
				in.Close()
				continue
			}
			out, err := net.Dial("tcp", d.to)
			if err != nil {
				in.Close()
				continue
			}
			d.mu.Lock()
			d.open[out] = true
			d.mu.Unlock()
			d.wait.Go(func() { d.pass(in, out) })
			d.wait.Go(func() { d.pass(out, in) })
		}
	})
	t.Cleanup(func() {
		l.Close()
		d.set(true, false)
		d.wait.Wait()
	})
	return d
}

func (d *door) pass(from, to net.Conn) {
	defer from.Close()
	defer to.Close()
	buffer := make([]byte, 64<<10)
	for {
		n, err := from.Read(buffer)
		d.mu.Lock()
		for d.stopped {
			d.moved.Wait()
		}
		d.mu.Unlock()
		if n > 0 {
			if _, e := to.Write(buffer[:n]); e != nil {
				return
			}
		}
		if err == io.EOF || err != nil {
			return
		}
	}
}

func (d *door) set(shut, stopped bool) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.shut, d.stopped = shut, stopped
	if shut {
		for c := range d.open {
			c.Close()
		}
		clear(d.open)
	}
	d.moved.Broadcast()
}

// A console that is gone, or stands still: it is said, what is entered waits on
// the tablet and is sent when it is back, or is refused and said so.
func TestTheConsoleIsAway(t *testing.T) {
	r := newRig(t)
	own := r.must("north", open("p-017"))
	r.must("north", start("own seven", true))
	inside, _ := url.Parse(r.url)
	d := newDoor(t, inside.Host)
	outside := &rig{t: t, url: "http://" + d.listen.Addr().String()}
	ctx := outside.browse(t, "/bays/north")
	h := &hand{t: t, r: r, ctx: ctx}
	waiting := `document.getElementById('waiting').innerText`

	d.set(true, false)
	truth(t, ctx, "no contact is said", `document.getElementById('link').textContent.includes('no contact')`)
	h.tap("#felt-better")
	truth(t, ctx, "it waits, and that is said", waiting+`.includes('Waiting for the console') && `+waiting+`.includes('better')`)
	h.tap("#bar-trial")
	h.write("#trial-name", "heavier head")
	h.tap("#trial-start")
	truth(t, ctx, "the trial waits too", waiting+`.includes('heavier head') && !document.querySelector('dialog[open]')`)
	h.tap("#felt-worse") // of the trial that waits
	truth(t, ctx, "in the order of the hand", `document.querySelectorAll('#waiting li').length === 3`)
	h.picture("away")
	if n := len(r.log("north")); n != 2 {
		t.Fatalf("%d events while the console was away", n)
	}
	do(t, ctx, chromedp.Navigate("about:blank")) // the page is gone, what waits is not
	d.set(false, false)
	do(t, ctx, chromedp.Navigate(outside.url+"/bays/north"), chromedp.WaitReady("#part-bar"))
	truth(t, ctx, "all is sent", `document.querySelectorAll('#waiting li').length === 0`)
	r.until("and taken", func() bool { return len(r.log("north")) == 5 })
	log := r.log("north")
	if log[2].GetFeelNoted().GetWords() != "better" || log[3].GetTrialStarted().GetBuild().GetName() != "heavier head" {
		t.Errorf("not in the order of the hand: %v", log[2:])
	}
	if felt := log[4].GetFeelNoted(); felt.GetTrial() != log[3].GetTrialStarted().GetTrial() || felt.GetWords() != "worse" {
		t.Errorf("the feel is filed under another trial: %v", felt)
	}
	for i := 2; i < 5; i++ {
		if log[i].EffectiveUnixNs >= log[i].RecordedUnixNs {
			t.Errorf("event %d counts from when it was sent, not from when it was entered", i)
		}
	}

	truth(t, ctx, "live, with the bar of the trial that waited", fmt.Sprintf(`document.getElementById('link').textContent === 'live' &&
		document.querySelector('#part-bar form:has(#do-pause) [name=at_trial]').value === %q`, log[3].GetTrialStarted().GetTrial()))
	d.set(false, true)
	truth(t, ctx, "a console that stands still is said", `document.getElementById('link').textContent.includes('stands still')`)
	h.tap("#do-pause")
	truth(t, ctx, "and what is entered waits", waiting+`.includes('Pause')`)
	d.set(false, false)
	truth(t, ctx, "it is sent", `document.querySelectorAll('#waiting li').length === 0 && document.getElementById('do-resume')`)
	if n := count(r.log("north"), "trial_paused"); n != 1 {
		t.Errorf("%d pauses", n)
	}

	// Meanwhile another tablet opened the next player's session.
	truth(t, ctx, "live again", `document.getElementById('link').textContent === 'live'`)
	d.set(true, false)
	h.tap("#bar-feel")
	h.write("#feel-words", "whippy at the top")
	h.tap("#feel-go")
	truth(t, ctx, "it waits", waiting+`.includes('whippy')`)
	r.must("north", open("p-018"))
	d.set(false, false)
	truth(t, ctx, "it is refused, with what was typed", waiting+`.includes('Not taken') && `+waiting+`.includes('whippy at the top') && `+waiting+`.includes('p-018')`)
	h.tap("#waiting li button")
	truth(t, ctx, "seen", `!document.querySelector('#waiting li')`)
	if log := r.log("north"); log[len(log)-1].GetSessionOpened() == nil || own.Session == "" {
		t.Error("a form of the player before was taken")
	}
}

// The list does not move under the finger, nor does the page.
func TestTheLiveListStaysWhereItIs(t *testing.T) {
	r := newRig(t)
	r.must("north", open("p-017"))
	r.must("north", start("own seven", true))
	for i := range 20 {
		r.hit("north", 150+float64(i%5), float64(i%7)-3)
	}
	ctx := r.browse(t, "/bays/north")
	do(t, ctx, chromedp.EmulateViewport(390, 844))
	truth(t, ctx, "the shots show", `document.querySelectorAll('.shots li').length === 20`)
	eval[bool](t, ctx, `(() => { document.querySelector('.shots').scrollIntoView(); scrollBy(0, -60); document.querySelector('.shots').scrollTop = 300; return true })()`)
	where := `(() => { const l = document.querySelector('.shots'), b = l.getBoundingClientRect(), li = [...l.children].find(x => x.getBoundingClientRect().top > b.top + 20); return [li.querySelector('input').id, Math.round(li.getBoundingClientRect().top)].join(' ') })()`
	was := eval[string](t, ctx, where)
	id, _, _ := strings.Cut(was, " ")
	at := fmt.Sprintf(`Math.round(document.getElementById(%q).closest('li').getBoundingClientRect().top)`, id)
	top := eval[int](t, ctx, at)
	for i := range 4 {
		shot := r.hit("north", 155, float64(i))
		truth(t, ctx, "the shot shows", fmt.Sprintf(`document.getElementById('s-%s')`, shot))
		if now := eval[int](t, ctx, at); now < top-2 || now > top+2 {
			t.Fatalf("after shot %d the list moved from %d to %d", i, top, now)
		}
	}
}

// One tap that reaches the console several times at once, as it does when one
// that stood still wakes up, is taken once, and each time the answer says so.
func TestATapThatCameSeveralTimesAtOnce(t *testing.T) {
	r := newRig(t)
	a := r.must("north", open("p-017"))
	b := r.must("north", start("own seven", true))
	for n := range 8 {
		form := fmt.Sprintf("at_session=%s&at_trial=%s&key=k%d&trial=%s&felt=better", a.Session, b.Trial, n, b.Trial)
		codes := make(chan string, 6)
		for i := range cap(codes) {
			more := fmt.Sprintf("&ago_ms=%d", 10*i)
			if i == 0 {
				more = "&last_seen=00000000000000aa/1" // the first did not wait
			}
			go func() {
				answer, err := http.Post(r.url+"/bays/north/feel", "application/x-www-form-urlencoded", strings.NewReader(form+more))
				if err != nil {
					codes <- err.Error()
					return
				}
				defer answer.Body.Close()
				text, _ := io.ReadAll(answer.Body)
				codes <- fmt.Sprint(answer.StatusCode, " ", strings.Contains(string(text), "Not taken"))
			}()
		}
		for range cap(codes) {
			if got := <-codes; got != "200 false" {
				t.Errorf("tap %d: %s", n, got)
			}
		}
	}
	http.DefaultClient.CloseIdleConnections()
	if n := count(r.log("north"), "feel_noted"); n != 8 {
		t.Errorf("%d feels of 8 taps", n)
	}
}

// How long ago a tap was is told by a tablet that doesn't know how long the telling
// takes: what a hand did second is never before what it did first.
func TestTapsOfAHandKeepTheirOrder(t *testing.T) {
	r := newRig(t)
	a := r.must("north", open("p-017"))
	b := r.must("north", start("own seven", true))
	tap := func(page, key, felt string, ago int) {
		t.Helper()
		form := fmt.Sprintf("at_session=%s&at_trial=%s&key=%s&trial=%s&felt=%s&ago_ms=%d&page=%s",
			a.Session, b.Trial, key, b.Trial, felt, ago, page)
		answer, err := http.Post(r.url+"/bays/north/feel", "application/x-www-form-urlencoded", strings.NewReader(form))
		if err != nil {
			t.Fatal(err)
		}
		answer.Body.Close()
		if answer.StatusCode != http.StatusOK {
			t.Fatalf("%s: %d", felt, answer.StatusCode)
		}
	}
	tap("one", "k1", "better", 0)
	tap("one", "k2", "worse", 900)
	tap("two", "k3", "better", 60_000) // another hand's clock is its own
	when := func(key string) int64 {
		for _, ev := range r.log("north") {
			if ev.Id == key+"-feel" {
				return ev.EffectiveUnixNs
			}
		}
		return 0
	}
	first, second, other := when("k1"), when("k2"), when("k3")
	if first == 0 || second <= first || other == 0 || other >= first {
		t.Errorf("better at %d, worse at %d, another's at %d", first, second, other)
	}
}
