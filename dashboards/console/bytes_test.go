package console

import (
	"bufio"
	"compress/gzip"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"strings"
	"sync/atomic"
	"testing"

	"fairlead/ingest/contract/event"
)

// wire counts the bytes that came over it.
type wire struct {
	io.Reader
	n atomic.Int64
}

func (w *wire) Read(p []byte) (int, error) {
	n, err := w.Reader.Read(p)
	w.n.Add(int64(n))
	return n, err
}

// heard is one event of a live page, and how many bytes had come by its end.
type heard struct {
	name, data string
	upto       int64
}

// compressed asks for a page as browsers do; nothing is unpacked on the way.
func (r *rig) compressed(path string) (*http.Response, *wire) {
	r.t.Helper()
	request, err := http.NewRequestWithContext(r.t.Context(), http.MethodGet, r.url+path, nil)
	if err != nil {
		r.t.Fatal(err)
	}
	request.Header.Set("Accept-Encoding", "gzip")
	transport := &http.Transport{DisableCompression: true, DisableKeepAlives: true}
	answer, err := transport.RoundTrip(request)
	if err != nil {
		r.t.Fatal(err)
	}
	r.t.Cleanup(func() { answer.Body.Close() })
	if answer.Header.Get("Content-Encoding") != "gzip" {
		r.t.Fatalf("%s comes as %q", path, answer.Header.Get("Content-Encoding"))
	}
	return answer, &wire{Reader: answer.Body}
}

// listen reads a live page until it is closed.
func listen(t *testing.T, w *wire) <-chan heard {
	out := make(chan heard, 64)
	go func() {
		defer close(out)
		text, err := gzip.NewReader(w)
		if err != nil {
			t.Error(err)
			return
		}
		lines := bufio.NewScanner(text)
		lines.Buffer(nil, 8<<20)
		one := heard{}
		for lines.Scan() {
			switch line := lines.Text(); {
			case strings.HasPrefix(line, "event: "):
				one.name = strings.TrimPrefix(line, "event: ")
			case strings.HasPrefix(line, "data: "):
				one.data += line[6:]
			case line == "":
				one.upto = w.n.Load()
				out <- one
				one = heard{}
			}
		}
	}()
	return out
}

// The live page of a whole visit with irons is told of a shot in few bytes, as they
// go over the wire, and the page itself is no burden either: a tablet at the far end
// of a hall has no more than that.
func TestAShotIsToldInFewBytes(t *testing.T) {
	const mostAShot, mostOfAPage = 15_000, 60_000
	r := newRig(t)
	holding := func(on bool) { r.mu.Lock(); r.hold = on; r.mu.Unlock() }
	holding(true)
	r.must("north", open("p-017"))
	for n, loft := range []float64{31, 30, 32, 33} {
		trial := r.must("north", start(fmt.Sprintf("%g degrees", loft), n == 0, &event.Spec{Field: event.BuildField_BUILD_LOFT, Number: loft},
			&event.Spec{Field: event.BuildField_BUILD_LENGTH, Number: 0.9398})).Trial
		for i := range 9 {
			r.hit("north", 140+float64(n)+float64(i*i%7), float64(i*5%11)-5)
		}
		r.form("north", "feel", url.Values{"trial": {trial}, "words": {"whippy"}}.Encode())
	}
	holding(false)
	r.until("the hub has it all", func() bool { r.publish("north"); return len(r.state("north").Shots) == 36 })
	answer, page := r.compressed("/bays/north")
	if _, err := io.Copy(io.Discard, page); err != nil || page.n.Load() > mostOfAPage {
		t.Errorf("the page is %d bytes, at most %d (%v)", page.n.Load(), mostOfAPage, err)
	}
	answer.Body.Close()
	answer, live := r.compressed("/bays/north/live")
	events := listen(t, live)
	quiet := func() (parts int, told string, upto int64) {
		for e := range events {
			if e.name == "still" {
				return parts, told, e.upto
			}
			parts, told = parts+1, told+e.data
		}
		t.Fatal("the live page ended")
		return
	}
	_, _, before := quiet()
	least, pieces := int64(1<<40), 1<<20 // a look at alarms may fall between: what a shot costs is the least
	for i := 0; i < 3 && (least > mostAShot || pieces > 2); i++ {
		id, parts, told := r.hit("north", 150-float64(i), float64(i)-1), 0, ""
		for !strings.Contains(told, id) {
			n, text, _ := quiet()
			parts, told = parts+n, told+text
		}
		n, _, upto := quiet() // what belongs to it comes a moment later
		parts += n
		t.Logf("shot %d: %d bytes in %d pieces, %d before they are pressed; the page %d", i+1, upto-before, parts, len(told), page.n.Load())
		least, pieces = min(least, upto-before), min(pieces, parts)
		before = upto
	}
	if least > mostAShot {
		t.Errorf("a shot costs %d bytes, at most %d", least, mostAShot)
	}
	if pieces > 2 {
		t.Errorf("a shot is told in %d pieces: what is hit at once, and what follows from it, are two", pieces)
	}
	answer.Body.Close()
	for range events {
	}
}
