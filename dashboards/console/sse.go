package console

import (
	"bytes"
	"encoding/json"
	"fmt"
	"net/http"
	"time"
)

// pushed writes server-sent events to one browser.
type pushed struct {
	w       http.ResponseWriter
	control *http.ResponseController
	n       int // events sent; a browser that comes again says which it saw last
}

func push(w http.ResponseWriter) *pushed {
	h := w.Header()
	h.Set("Content-Type", "text/event-stream")
	h.Set("Cache-Control", "no-store")
	h.Set("X-Accel-Buffering", "no") // proxies must not gather what is live
	return &pushed{w: w, control: http.NewResponseController(w), n: 1}
}

// send writes one event; data may have several lines.
func (p *pushed) send(name string, data []byte) error {
	var b bytes.Buffer
	fmt.Fprintf(&b, "id: %d\nevent: %s\n", p.n, name)
	p.n++
	for line := range bytes.SplitSeq(data, []byte{'\n'}) {
		b.WriteString("data: ")
		b.Write(line)
		b.WriteByte('\n')
	}
	b.WriteByte('\n')
	p.control.SetWriteDeadline(time.Now().Add(10 * time.Second)) // a browser that sleeps is let go
	if _, err := p.w.Write(b.Bytes()); err != nil {
		return err
	}
	return p.control.Flush()
}

// sendJSON sends a value, markup as it is: escaped signs are six times as long.
func (p *pushed) sendJSON(name string, v any) error {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	if err := e.Encode(v); err != nil {
		return err
	}
	return p.send(name, bytes.TrimSpace(b.Bytes()))
}

// still tells the page that the console lives and has nothing new.
func (p *pushed) still() error { return p.send("still", []byte("{}")) }

// alive is how often a page without news hears that the console lives: one that
// hears nothing for more than twice as long says so, within three seconds.
const alive = time.Second

// lookAgain is how often a page is looked at anew without being told of news:
// alarms come without a new state.
const lookAgain = 5 * time.Second

// settle is how long a page waits after it was told of a shot before it is told
// the rest: another device's view of the same hit and what is weighed with it
// come within it, and go out together.
const settle = 300 * time.Millisecond

// follow calls show at once and after each change of a bay, until the browser is
// gone: without rest as soon as something changed, then with it, and with all
// that changed meanwhile, after wait. Who can't wait is shown all at once. idle
// is called while nothing is new.
func (s *server) follow(r *http.Request, bay string, wait time.Duration, idle func() error, show func(rest bool) error) {
	s.metrics.watching.Inc()
	defer s.metrics.watching.Dec()
	changed, stop := s.live.watch(bay)
	defer stop()
	beat, look := time.NewTicker(alive), time.NewTicker(lookAgain)
	defer beat.Stop()
	defer look.Stop()
	settled := time.NewTimer(settle)
	settled.Stop()
	waiting, rest := false, true
	for {
		if show(rest) != nil {
			return
		}
		if settled.Stop(); !rest {
			settled.Reset(wait)
		}
		waiting = !rest
		for again := false; !again; {
			select {
			case <-r.Context().Done():
				return
			case <-changed:
				rest, again = wait == 0, !waiting
			case <-settled.C:
				rest, again = true, true
			case <-look.C:
				rest, again = true, true
			case <-beat.C:
				if idle() != nil {
					return
				}
			}
		}
	}
}

// apiLive sends a bay's state as JSON after each change.
func (s *server) apiLive(w http.ResponseWriter, r *http.Request) {
	bay := r.PathValue("bay")
	if err := s.writer.Known(bay); err != nil {
		code, p := s.problemOf(err)
		writeJSON(w, code, p)
		return
	}
	p := push(w)
	var sent []byte
	s.follow(r, bay, 0, p.still, func(bool) error {
		l := s.live.get(bay)
		data := l.data
		if data == nil {
			state, _ := s.stateOf(bay)
			state.At = 0 // so that an unchanged one is not sent again
			var err error
			if data, err = json.Marshal(state); err != nil {
				return err
			}
		}
		if bytes.Equal(data, sent) {
			return p.still()
		}
		sent = data
		err := p.send("state", data)
		if l.state != nil {
			s.metrics.stateAge.Observe(time.Duration(s.now().UnixNano() - l.state.At).Seconds())
		}
		return err
	})
}

// lookLive sends a piece of a page (the template part-NAME) whenever what it
// shows has changed.
func (s *server) lookLive(w http.ResponseWriter, r *http.Request, name string, view func() any) {
	s.piecesLive(w, r, func() (map[string]string, error) {
		var b bytes.Buffer
		err := s.pages.ExecuteTemplate(&b, "part-"+name, view())
		return map[string]string{name: b.String()}, err
	})
}

// piecesLive sends those pieces of a page that changed, looked at once a second,
// and says in between that the console lives: a page that hears nothing for
// longer calls it frozen.
func (s *server) piecesLive(w http.ResponseWriter, r *http.Request, look func() (map[string]string, error)) {
	p := push(w)
	sent := map[string]string{}
	tick := time.NewTicker(time.Second)
	defer tick.Stop()
	for {
		pieces, err := look()
		if err != nil {
			s.log.Error("a live page can't be rendered", "path", r.URL.Path, "error", err)
			return
		}
		changed := map[string]string{}
		for name, html := range pieces {
			if was, known := sent[name]; !known || was != html {
				changed[name], sent[name] = html, html
			}
		}
		if len(changed) > 0 {
			err = p.sendJSON("parts", changed)
		} else {
			err = p.still()
		}
		if err != nil {
			return
		}
		select {
		case <-r.Context().Done():
			return
		case <-tick.C:
		}
	}
}
