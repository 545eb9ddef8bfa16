package console

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/base64"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/nats-io/nats.go"
	"github.com/prometheus/client_golang/prometheus"
	"github.com/xuri/excelize/v2"
	"google.golang.org/protobuf/proto"

	"fairlead/deploy/studio"
	"fairlead/ingest/bay/collector"
	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/stream"
)

// collect runs the real collector of bay north, whose devices write below the
// returned folder; what it sends is shown as the hub would.
func (r *rig) collect(t *testing.T) (devices string) {
	t.Helper()
	devices = filepath.Join(r.dir, "devices")
	if err := os.MkdirAll(filepath.Join(devices, "willow"), 0o755); err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(r.dir, "studio.yaml")
	text := fmt.Sprintf("studio: %s\ndata: bay\nbroker: {url: %q}\nbays:\n  - {name: north, devices: devices}\n", testStudio,
		r.nc.ConnectedUrl())
	if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	c, err := studio.Load(file)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := r.nc.Subscribe(c.Place("north").ShotsSubject(), func(m *nats.Msg) {
		e := &event.Entry{}
		if err := proto.Unmarshal(m.Data, e); err != nil {
			t.Error(err)
			return
		}
		r.mu.Lock()
		r.entries["north"] = append(r.entries["north"], e)
		r.mu.Unlock()
		r.publish("north")
	}); err != nil {
		t.Fatal(err)
	}
	o, _, err := c.Collector(&c.Bays[0], "test", prometheus.NewRegistry(), slog.New(slog.DiscardHandler))
	if err != nil {
		t.Fatal(err)
	}
	o.Link, o.Machine = stream.Link{URL: r.nc.ConnectedUrl(), Name: "north"}, "one"
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() { done <- collector.Run(ctx, o) }()
	t.Cleanup(func() {
		cancel()
		if err := <-done; err != nil {
			t.Error(err)
		}
	})
	return devices
}

// neverSeen are lines of an invented device: nothing says which side is positive.
func neverSeen(from, n int) string {
	var b strings.Builder
	for i := from; i < from+n; i++ {
		fmt.Fprintf(&b, "%d;2026-05-01 09:%02d:%02d;%.1f;%.1f;%d;%.1f;%.1f\n", i, 10+i/4, 15*(i%4), 118+.6*float64(i%5), 16.5+.2*float64(i%4),
			6400+35*(i%7), 163+.8*float64(i%5), 3.1*float64(i%3)-2.6)
	}
	return b.String()
}

const neverSeenHead = "No;When;Ball Velo (mph);Launch V;Spin Total;Reach (yd);Miss (yd)\n"

// TestADeviceNeverSeenBefore goes from a file that nobody has described to the
// first shot on the bay's page, by hand in the browser; then a wrong unit is
// corrected beside the running map.
func TestADeviceNeverSeenBefore(t *testing.T) {
	r := newRig(t)
	devices := r.collect(t)
	ctx := r.browse(t, "/feeds/north")
	dropped := filepath.Join(r.dir, "export.csv")
	if err := os.WriteFile(dropped, []byte(neverSeenHead+neverSeen(1, 12)), 0o600); err != nil {
		t.Fatal(err)
	}
	do(t, ctx, chromedp.SetUploadFiles("#files", []string{dropped}))
	truth(t, ctx, "the values show", `document.querySelectorAll('#values tbody tr').length === 10`)
	truth(t, ctx, "what can't be told is asked, and bars the way", `document.querySelector('[id^="q-"]') && document.getElementById('work-go').disabled`)
	fits := func(width int64) {
		t.Helper()
		do(t, ctx, chromedp.EmulateViewport(width, 900))
		if wide := eval[[]string](t, ctx, `[...document.querySelectorAll('*')].filter(e => e.getBoundingClientRect().right > innerWidth + 1 && !e.closest('.skip, .delivered, .top nav')).map(e => e.tagName + '.' + e.className + ' ' + e.id)`); len(wide) > 0 {
			t.Errorf("at %d wider than the screen: %v", width, wide)
		}
		if dir := os.Getenv("FAIRLEAD_SCREENSHOTS"); dir != "" {
			page, err := chromedp.Run(ctx, chromedp.FullScreenshot(100))
			if err == nil {
				err = os.WriteFile(filepath.Join(dir, fmt.Sprintf("feedpage-%d.png", width)), page, 0o644)
			}
			if err != nil {
				t.Fatal(err)
			}
		}
	}
	fits(390)
	fits(1024)
	for range 6 { // each answer may leave fewer questions
		if !eval[bool](t, ctx, `!!document.querySelector('[id^="q-"] input')`) {
			break
		}
		was := eval[string](t, ctx, `document.querySelector('fieldset[id^="q-"]').id`)
		do(t, ctx, chromedp.Click(`fieldset[id^="q-"] input`))
		truth(t, ctx, "the answer is taken", fmt.Sprintf(`!document.getElementById(%q)`, was))
	}
	truth(t, ctx, "nothing is open", `!document.getElementById('work-go').disabled`)
	choose := func(selector, value string) {
		t.Helper()
		// Once, as a hand does: SetValue tells the page by itself, and a second answer would come later.
		eval[bool](t, ctx, fmt.Sprintf(`(() => { const e = document.querySelector(%q); e.value = %q; return e.dispatchEvent(new Event('change', {bubbles: true})) })()`, selector, value))
	}
	choose(`select[name="told.field:Reach (yd)"]`, "carry")
	truth(t, ctx, "what a name does not say is told", `document.getElementById('unit-carry') && document.querySelector('#values thead').innerText.includes('Carry')`)
	carry := `document.querySelector('#values tbody tr td:nth-of-type(5)').textContent`
	first := eval[string](t, ctx, carry)
	choose("#unit-carry", "m")
	truth(t, ctx, "another unit shows in the values at once, and is doubted", fmt.Sprintf(`%s !== %q && document.querySelector('#reading .alarm')`, carry, first))
	choose("#unit-carry", "yd")
	truth(t, ctx, "and back", fmt.Sprintf(`%s === %q && !document.querySelector('#reading .alarm')`, carry, first))
	truth(t, ctx, "nothing is asked any more", `!document.querySelector('.htmx-request')`)
	do(t, ctx, chromedp.SetValue("#to", "folder:willow"), chromedp.SetValue("#feed-name", "willow"), chromedp.Click("#feed-grows"),
		chromedp.Click("#work-go"))
	truth(t, ctx, "it works", `document.querySelector('#works .notice') && document.getElementById('to-bay')`)

	out := filepath.Join(devices, "willow", "shots.csv")
	if err := os.WriteFile(out, []byte(neverSeenHead+neverSeen(20, 1)), 0o600); err != nil {
		t.Fatal(err)
	}
	truth(t, ctx, "the first shot shows on the page of devices", `document.querySelector('#latest li')`)
	do(t, ctx, chromedp.Navigate(r.url+"/bays/north"), chromedp.WaitReady("main"))
	truth(t, ctx, "and on the bay's", `document.querySelector('input[name=shot]')`)

	// A map that was put to work wrongly is corrected beside the one that works.
	do(t, ctx, chromedp.Navigate(r.url+"/feeds/north"), chromedp.WaitReady("#look-go"), chromedp.SetValue("#from", "feed:willow"),
		chromedp.Click("#look-go"))
	truth(t, ctx, "the bay's own lines show", `document.querySelectorAll('#values tbody tr').length === 1`)
	do(t, ctx, chromedp.SetValue("#to", "feed:willow"), chromedp.Evaluate[chromedp.Void](`document.getElementById('the-map').open = true; const m = document.getElementById('map'); m.value = m.value.replace('unit: "yd"', 'unit: "m"'); m.dispatchEvent(new Event('input', {bubbles: true}))`),
		chromedp.Click("#beside-on"))
	truth(t, ctx, "both readings show, what differs in bold", `document.querySelector('#beside strong') && document.getElementById('beside').innerText.includes('works now')`)
	f, err := os.OpenFile(out, os.O_APPEND|os.O_WRONLY, 0)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if _, err := f.WriteString(neverSeen(21, 1)); err != nil {
		t.Fatal(err)
	}
	truth(t, ctx, "a shot that comes meanwhile too", `document.getElementById('beside').innerText.includes('shots.csv:3')`)
	r.until("and by the map that works", func() bool { return len(r.shots("north")) == 2 })
}

// shots are what came of a bay so far.
func (r *rig) shots(bay string) []*event.Entry {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.entries[bay]
}

// TestADroppedFileThatIsNone: what can't be drafted is said, and so is a bay
// whose collector does not answer.
func TestADroppedFileThatIsNone(t *testing.T) {
	r := newRig(t)
	code, body := r.raw("GET", "/feeds/north", nil)
	if code != 200 || !strings.Contains(string(body), "collector does not answer") {
		t.Errorf("%d %s", code, body)
	}
	ctx := r.browse(t, "/feeds/north")
	dropped := filepath.Join(r.dir, "note.txt")
	if err := os.WriteFile(dropped, []byte("a note, and no shot in it\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	do(t, ctx, chromedp.SetUploadFiles("#files", []string{dropped}))
	truth(t, ctx, "it is said", `document.querySelector('#bench [role=alert]')?.textContent.includes('no table was found')`)
}

// TestALateAnswerOnDevices: while the console thinks about one answer, another is
// given and the device's name is typed; neither is taken back, in whatever order
// the answers come.
func TestALateAnswerOnDevices(t *testing.T) {
	r := newRig(t)
	ctx := r.browse(t, "/feeds/north")
	book := excelize.NewFile()
	defer book.Close()
	for i, line := range strings.Split(strings.TrimSpace(neverSeenHead+neverSeen(1, 12)), "\n") {
		var row []any
		for k, cell := range strings.Split(line, ";") {
			if v, err := strconv.ParseFloat(cell, 64); err == nil && k != 1 {
				row = append(row, v)
				continue
			}
			row = append(row, cell)
		}
		if err := book.SetSheetRow("Sheet1", fmt.Sprintf("A%d", i+1), &row); err != nil {
			t.Fatal(err)
		}
	}
	// Notes aside make it larger than what is looked at of a text.
	if _, err := book.NewSheet("Notes"); err != nil {
		t.Fatal(err)
	}
	for i := range 9000 {
		if err := book.SetSheetRow("Notes", fmt.Sprintf("A%d", i+1), &[]any{fmt.Sprintf("%x",
			sha256.Sum256([]byte{byte(i), byte(i >> 8)}))}); err != nil {
			t.Fatal(err)
		}
	}
	var data bytes.Buffer
	if err := book.Write(&data); err != nil {
		t.Fatal(err)
	}
	if data.Len() < 300_000 || data.Len() > 900_000 {
		t.Fatalf("the workbook has %d bytes", data.Len())
	}
	do(t, ctx, chromedp.Evaluate[chromedp.Void](fmt.Sprintf(`(() => {
		const bytes = Uint8Array.from(atob(%q), (c) => c.charCodeAt(0)), all = new DataTransfer();
		all.items.add(new File([bytes], 'export.xlsx'));
		document.getElementById('drop').dispatchEvent(new DragEvent('drop', { dataTransfer: all, bubbles: true, cancelable: true }));
	})()`, base64.StdEncoding.EncodeToString(data.Bytes()))))
	truth(t, ctx, "a dropped workbook's values show", `document.querySelectorAll('#values tbody tr').length === 10`)

	// From here on the page's questions wait until they are let go.
	do(t, ctx, chromedp.Evaluate[chromedp.Void](`(() => {
		const real = fetch;
		window.held = [];
		window.fetch = (...a) => String(a[0]).endsWith('/draft') ? new Promise((done) => held.push(() => real(...a).then(done))) : real(...a);
	})()`))
	choose := `((s, v) => { const e = document.querySelector(s); e.focus(); e.value = v; e.dispatchEvent(new Event('input', {bubbles: true})); e.dispatchEvent(new Event('change', {bubbles: true})); return true })`
	eval[bool](t, ctx, choose+`('select[name="told.field:Reach (yd)"]', 'carry')`)
	eval[bool](t, ctx, choose+`('select[name="told.field:Miss (yd)"]', 'offline')`)
	eval[bool](t, ctx, `(() => { const e = document.getElementById('device'); e.focus(); e.value = 'hazel'; e.dispatchEvent(new Event('input', {bubbles: true})); return held.length === 2 })()`)
	eval[bool](t, ctx, `(held[1](), true)`)
	truth(t, ctx, "both are told", `['told.field:Reach (yd)', 'told.field:Miss (yd)'].every((n) => document.querySelector('#told input[name="' + n + '"]'))`)
	truth(t, ctx, "what is being typed stays, and the hand in it", `document.getElementById('device').value === 'hazel' && document.activeElement.id === 'device'`)
	eval[bool](t, ctx, `(held[0](), true)`)
	eval[bool](t, ctx, `(document.getElementById('device').blur(), true)`)
	truth(t, ctx, "it is asked with what was typed", `held.length === 3`)
	eval[bool](t, ctx, `(() => { document.getElementById('the-map').open = true; const m = document.getElementById('map'); m.focus(); m.value += '# mine\n'; m.dispatchEvent(new Event('input', {bubbles: true})); held[2](); return true })()`)
	truth(t, ctx, "the name is taken", `document.querySelector('#told input[name=device]').value === 'hazel'`)
	truth(t, ctx, "the map is the hand's", `document.getElementById('map').value.endsWith('# mine\n') && !document.getElementById('by-hand').hidden`)
	if !eval[bool](t, ctx, `!!document.querySelector('#told input[name="told.field:Miss (yd)"]')`) {
		t.Error("an old answer came last and took back what was told")
	}
}
