package console

import (
	"fmt"
	"io"
	"net"
	"net/http"
	"strings"
	"sync"
	"time"
)

const (
	// mostStreams is how many live pages are served at once, and mostOfOne how many of them to one address: each
	// holds a connection and what its page was sent. A tablet has one, a wall screen of all bays a handful.
	mostStreams, mostOfOne = 512, 64
	// mostForm bounds every request's body; handlers that read JSON have bounds of their own below it.
	mostForm = 1 << 20
	// arriving is how long a body may take to arrive.
	arriving = 30 * time.Second
)

// limits keeps one client, or many, from taking the console's memory and connections.
type limits struct {
	refused func(why string)
	all     int // most streams
	one     int // most streams of one address

	mu      sync.Mutex
	streams map[string]int // open ones by address
	n       int
}

func newLimits(refused func(string)) *limits {
	return &limits{refused: refused, all: mostStreams, one: mostOfOne, streams: map[string]int{}}
}

func (l *limits) handler(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.Body != nil && r.Body != http.NoBody {
			control := http.NewResponseController(w)
			_ = control.SetReadDeadline(time.Now().Add(arriving))
			r.Body = &arrival{ReadCloser: http.MaxBytesReader(w, r.Body, mostForm), control: control}
		}
		if !strings.HasSuffix(r.URL.Path, "/live") {
			next.ServeHTTP(w, r)
			return
		}
		leave, ok := l.enter(r.RemoteAddr)
		if !ok {
			l.refused("streams")
			w.Header().Set("Retry-After", "10")
			http.Error(w, fmt.Sprintf("too many live pages are open: at most %d, and %d from one address; close some of them", l.all, l.one),
				http.StatusServiceUnavailable)
			return
		}
		defer leave()
		next.ServeHTTP(w, r)
	})
}

// enter takes a stream's place; leave gives it back.
func (l *limits) enter(from string) (leave func(), ok bool) {
	if host, _, err := net.SplitHostPort(from); err == nil {
		from = host
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.n >= l.all || l.streams[from] >= l.one {
		return nil, false
	}
	l.n++
	l.streams[from]++
	return func() {
		l.mu.Lock()
		defer l.mu.Unlock()
		l.n--
		if l.streams[from]--; l.streams[from] == 0 {
			delete(l.streams, from)
		}
	}, true
}

// arrival is a body that has to be here in time. Once it is, its time is over: the answer may take longer.
type arrival struct {
	io.ReadCloser
	control *http.ResponseController
}

func (a *arrival) Read(p []byte) (int, error) {
	n, err := a.ReadCloser.Read(p)
	if err != nil {
		_ = a.control.SetReadDeadline(time.Time{})
	}
	return n, err
}
