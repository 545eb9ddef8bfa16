package gate

import (
	"io"
	"log/slog"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"net/url"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"
)

// rig is a gate before a handler that says which route it was reached by.
type rig struct {
	t    *testing.T
	gate *Gate
	url  string
	dir  string

	mu  sync.Mutex
	now time.Time
}

const goodPassword = "seven larks over water"

func newRig(t *testing.T) *rig { return newRigOf(t, Options{Listen: "127.0.0.1:0"}) }

func newRigOf(t *testing.T, o Options) *rig {
	t.Helper()
	r := &rig{t: t, dir: t.TempDir(), now: time.Now()}
	o.Dir, o.TokenFile, o.Studio, o.Bays = filepath.Join(r.dir, "gate"), filepath.Join(r.dir, "keys", "console.token"), "harbour-row",
		[]string{"north"}
	o.Now = func() time.Time { r.mu.Lock(); defer r.mu.Unlock(); return r.now }
	o.Logger = slog.New(slog.DiscardHandler)
	var err error
	if r.gate, err = New(o); err != nil {
		t.Fatal(err)
	}
	server := httptest.NewServer(r.gate.Handler(http.HandlerFunc(func(w http.ResponseWriter, q *http.Request) {
		if strings.HasSuffix(q.URL.Path, "/live") {
			w.WriteHeader(http.StatusOK)
			_ = http.NewResponseController(w).Flush()
			if q.URL.Query().Get("stay") != "" {
				<-q.Context().Done()
			}
			return
		}
		who := ""
		if i := From(q.Context()); i != nil {
			who = i.Person + "@" + i.Device
		}
		_, _ = io.WriteString(w, "reached by "+who)
	})))
	t.Cleanup(server.Close)
	r.url = server.URL
	return r
}

func (r *rig) later(d time.Duration) { r.mu.Lock(); r.now = r.now.Add(d); r.mu.Unlock() }

// account makes an account that can sign in.
func (r *rig) account(name string, pin string, roles ...Role) string {
	r.t.Helper()
	made, err := r.gate.book.Add("", name, roles, r.gate.now())
	if err != nil {
		r.t.Fatal(err)
	}
	if _, err := r.gate.book.join(made.Code, goodPassword, pin, r.gate.now()); err != nil {
		r.t.Fatal(err)
	}
	return made.ID
}

// browser keeps cookies and follows no redirect.
type browser struct {
	r      *rig
	client *http.Client
}

func (r *rig) browser() *browser {
	jar, _ := cookiejar.New(nil)
	return &browser{r, &http.Client{Jar: jar, CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}}
}

// do sends a request and returns status, where it leads and the body.
func (b *browser) do(method, path string, form url.Values, header ...string) (int, string, string) {
	b.r.t.Helper()
	var body io.Reader
	if form != nil {
		body = strings.NewReader(form.Encode())
	}
	q, err := http.NewRequestWithContext(b.r.t.Context(), method, b.r.url+path, body)
	if err != nil {
		b.r.t.Fatal(err)
	}
	if form != nil {
		q.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	}
	for i := 0; i+1 < len(header); i += 2 {
		q.Header.Set(header[i], header[i+1])
	}
	a, err := b.client.Do(q)
	if err != nil {
		b.r.t.Fatal(err)
	}
	defer a.Body.Close()
	text, _ := io.ReadAll(a.Body)
	return a.StatusCode, a.Header.Get("Location"), string(text)
}

func (b *browser) get(path string) (int, string, string) { return b.do(http.MethodGet, path, nil) }

// want fails unless the status is the one.
func (b *browser) want(code int, method, path string, form url.Values) (where, text string) {
	b.r.t.Helper()
	got, where, text := b.do(method, path, form)
	if got != code {
		b.r.t.Fatalf("%s %s: %d, want %d: %s %s", method, path, got, code, where, text)
	}
	return where, text
}

func (b *browser) signIn(name string) string {
	b.r.t.Helper()
	where, _ := b.want(http.StatusSeeOther, http.MethodPost, "/gate/in", url.Values{"name": {name}, "password": {goodPassword}})
	return where
}

// trail lists what the trail says, oldest first, as "who what about".
func (r *rig) trail() (out []string) {
	r.t.Helper()
	marks, err := r.gate.trail.Latest(1000, func(Mark) bool { return true })
	if err != nil {
		r.t.Fatal(err)
	}
	for i := len(marks) - 1; i >= 0; i-- {
		out = append(out, strings.TrimSpace(marks[i].Who+" "+marks[i].What+" "+marks[i].About))
	}
	return out
}
