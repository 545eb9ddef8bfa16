package console

import (
	"bytes"
	"io"
	"net/http"
	"net/http/httptest"
	"testing"
)

func TestLiveStreamsAreBounded(t *testing.T) {
	refused := 0
	l := newLimits(func(string) { refused++ })
	l.all, l.one = 3, 2
	open := make(chan struct{})
	entered := make(chan struct{})
	h := l.handler(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		entered <- struct{}{}
		<-open
	}))
	ask := func(from string) *httptest.ResponseRecorder {
		r := httptest.NewRequest("GET", "/bays/north/live", nil)
		r.RemoteAddr = from
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		return w
	}
	done := make(chan struct{})
	for _, from := range []string{"10.0.0.1:1", "10.0.0.1:2", "10.0.0.2:1"} {
		go func() { ask(from); done <- struct{}{} }()
		<-entered
	}
	for _, from := range []string{"10.0.0.1:3", "10.0.0.3:1"} {
		if w := ask(from); w.Code != http.StatusServiceUnavailable {
			t.Errorf("one more from %s: %d", from, w.Code)
		}
	}
	close(open)
	for range 3 {
		<-done
	}
	go func() { <-entered }()
	if w := ask("10.0.0.1:4"); w.Code != http.StatusOK || refused != 2 || len(l.streams) != 0 || l.n != 0 {
		t.Errorf("afterwards: %d, %d refused, %d of %v still counted", w.Code, refused, l.n, l.streams)
	}
}

// A body of any size ends at the bound, also one that nobody asked for.
func TestBodiesAreBounded(t *testing.T) {
	l := newLimits(func(string) {})
	server := httptest.NewServer(l.handler(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		n, err := io.Copy(io.Discard, r.Body)
		if n > mostForm || (err != nil) != (n == mostForm) {
			t.Errorf("%d bytes were read, %v", n, err)
		}
		if err != nil {
			w.WriteHeader(http.StatusRequestEntityTooLarge)
		}
	})))
	defer server.Close()
	client := &http.Client{Transport: &http.Transport{DisableKeepAlives: true}}
	for size, want := range map[int]int{1000: 200, 4 << 20: 413} {
		resp, err := client.Post(server.URL, "multipart/form-data; boundary=x", bytes.NewReader(make([]byte, size)))
		if err != nil {
			continue // the server may close before all of it was sent
		}
		resp.Body.Close()
		if resp.StatusCode != want {
			t.Errorf("%d bytes: %d", size, resp.StatusCode)
		}
	}
}
