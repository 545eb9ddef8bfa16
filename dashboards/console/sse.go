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
}

func push(w http.ResponseWriter) *pushed {
	h := w.Header()
	h.Set("Content-Type", "text/event-stream")
	h.Set("Cache-Control", "no-store")
	h.Set("X-Accel-Buffering", "no") // proxies must not gather what is live
	return &pushed{w, http.NewResponseController(w)}
}

// send writes one event; data may have several lines.
func (p *pushed) send(name string, data []byte) error {
	var b bytes.Buffer
	fmt.Fprintf(&b, "event: %s\n", name)
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

// still is how often a page without news hears that the connection lives.
const still = 5 * time.Second

// follow calls show at once and after each change of a bay, until the browser
// is gone.
func (s *server) follow(r *http.Request, p *pushed, bay string, show func() error) {
	s.metrics.watching.Inc()
	defer s.metrics.watching.Dec()
	changed, stop := s.live.watch(bay)
	defer stop()
	beat := time.NewTicker(still)
	defer beat.Stop()
	for {
		if show() != nil {
			return
		}
		select {
		case <-r.Context().Done():
			return
		case <-changed:
		case <-beat.C:
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
	s.follow(r, p, bay, func() error {
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
			return p.send("still", []byte("{}"))
		}
		sent = data
		err := p.send("state", data)
		if l.state != nil {
			s.metrics.stateAge.Observe(time.Duration(s.now().UnixNano() - l.state.At).Seconds())
		}
		return err
	})
}
