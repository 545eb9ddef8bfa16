package process

import (
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"net/http/httputil"
	"net/url"
	"strings"
	"sync"
	"testing"
)

// proxy stands between the store's client and the engine, and can lose or
// spoil the answers to inserts after the engine has committed them, or before.
type proxy struct {
	server *httptest.Server

	mu    sync.Mutex
	only  string                      // table whose answers are spoiled; empty: all
	most  int                         // answers spoiled of each table; 0: any number
	early bool                        // the engine does not even hear of the insert
	spoil func(w http.ResponseWriter) // nil: answers pass
	lost  map[string]int              // answers spoiled, by table
}

// before starts a proxy and returns the store's address through it.
func (p *proxy) before(t *testing.T, dsn string) string {
	t.Helper()
	u, err := url.Parse(dsn)
	if err != nil {
		t.Fatal(err)
	}
	p.lost = map[string]int{}
	to := httputil.NewSingleHostReverseProxy(&url.URL{Scheme: "http", Host: u.Host})
	to.ErrorHandler = func(w http.ResponseWriter, _ *http.Request, err error) { panic(http.ErrAbortHandler) }
	p.server = httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		table, insert := insertInto(r.URL.Query().Get("query"))
		spoil := p.spoils(table, insert)
		if spoil == nil {
			to.ServeHTTP(w, r)
			return
		}
		if p.early {
			io.Copy(io.Discard, r.Body)
			spoil(w)
			return
		}
		answer := httptest.NewRecorder()
		to.ServeHTTP(answer, r)
		if answer.Code != http.StatusOK {
			w.WriteHeader(answer.Code)
			io.Copy(w, answer.Body)
			return
		}
		spoil(w)
	}))
	t.Cleanup(p.server.Close)
	u.Host = strings.TrimPrefix(p.server.URL, "http://")
	return u.String()
}

// spoils says how to spoil the answer to an insert, and counts it. The audit's
// scratch tables are new each time, and are the question rather than what is asked of.
func (p *proxy) spoils(table string, insert bool) func(http.ResponseWriter) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if !insert || p.spoil == nil || strings.HasPrefix(table, "scratch_") || p.only != "" && p.only != table || p.most > 0 &&
		p.lost[table] >= p.most {
		return nil
	}
	p.lost[table]++
	return p.spoil
}

func (p *proxy) set(spoil func(w http.ResponseWriter)) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.spoil = spoil
}

// begin spoils the next answers of each table; early: the engine hears of nothing.
func (p *proxy) begin(spoil func(w http.ResponseWriter), early bool) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.spoil, p.early, p.lost = spoil, early, map[string]int{}
}

func (p *proxy) count(table string) int {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.lost[table]
}

func insertInto(query string) (table string, ok bool) {
	rest, ok := strings.CutPrefix(strings.TrimSpace(query), "INSERT INTO ")
	if !ok {
		return "", false
	}
	table, _, _ = strings.Cut(rest, " ")
	return strings.Trim(table, "`"), true
}

// cutOff breaks the connection without an answer.
func cutOff(http.ResponseWriter) { panic(http.ErrAbortHandler) }

// halfway sends a head that promises more, and breaks off.
func halfway(w http.ResponseWriter) {
	w.Header().Set("Content-Length", "1000")
	w.WriteHeader(http.StatusOK)
	io.WriteString(w, "abc")
	panic(http.ErrAbortHandler)
}

// errorInBody answers 200 with an error in the body, as the server does when
// something fails after the head was sent.
func errorInBody(w http.ResponseWriter) {
	w.WriteHeader(http.StatusOK)
	io.WriteString(w, "Code: 210. DB::Exception: Broken pipe, while writing to socket. (NETWORK_ERROR)\n")
}

// exceptionHead answers 200 with the server's head for an exception.
func exceptionHead(w http.ResponseWriter) {
	w.Header().Set("X-ClickHouse-Exception-Code", "210")
	w.WriteHeader(http.StatusOK)
	io.WriteString(w, "Code: 210. DB::Exception: Broken pipe. (NETWORK_ERROR)\n")
}

// An answer that is lost after the commit, or that says 200 over an error, ends
// with the rows there once, and the entries acknowledged; also when the error
// was true and nothing had been committed.
func TestALostAnswerStoresNothingTwice(t *testing.T) {
	t.Parallel()
	type kind struct {
		name  string
		spoil func(http.ResponseWriter)
		early bool
	}
	for name, kinds := range map[string][]kind{
		"connections": {{"cut off", cutOff, false}, {"halfway", halfway, false}, {"true error in the body", errorInBody, true}},
		"words": {{"error in the body", errorInBody, false}, {"exception in the head", exceptionHead, false},
			{"true exception in the head", exceptionHead, true}},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			p := &proxy{most: 3}
			b := newBench(t, setup{dsn: func(dsn string) string { return p.before(t, dsn) }})
			y := b.bay("north")
			b.startHub()
			y.say(opened())
			for n, kind := range kinds {
				before, after := fmt.Sprintf("t%d-before", n), fmt.Sprintf("t%d-after", n)
				y.say(started(before, 30))
				y.hit(20)
				y.arrived()
				p.begin(kind.spoil, kind.early)
				y.say(started(after, 31))
				y.hit(30)
				b.until(kind.name+": answers were lost", func() bool {
					return p.count("visit_events") == p.most && p.count("entries") == p.most && p.count("trials") == p.most
				})
				y.hit(10)
				b.untilStored(kind.name+": both trials are right", func() bool { return b.trialN(before) == 20 && b.trialN(after) == 40 })
			}
			b.whole()
		})
	}
}
