package console

import (
	"io"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"fairlead/dashboards/gate"
)

// A console that asks who comes: a stranger reads and writes nothing; what a
// person enters is said to be theirs, whatever their form says; programs write
// what is theirs to write, and nobody strips a session unasked.
func TestWhatIsEnteredIsSaidToBeOfWhoIsSignedIn(t *testing.T) {
	dir := t.TempDir()
	g, err := gate.New(gate.Options{Dir: filepath.Join(dir, "gate"), TokenFile: filepath.Join(dir, "token"), Studio: testStudio,
		Bays: []string{"north"}, Listen: "127.0.0.1:0"})
	if err != nil {
		t.Fatal(err)
	}
	r := newRigOf(t, &rig{gate: g, eraseAfter: time.Hour})
	for _, path := range []string{"/", "/people", "/bays/north", "/api/people", "/api/bays", "/api/bays/north/events", "/bays/north/wall",
		"/ops", "/orders/"} {
		if _, text := r.raw("GET", path, nil); strings.Contains(string(text), "bay-north") || strings.HasPrefix(string(text), "[") ||
			strings.Contains(string(text), "part-bays") {
			t.Errorf("a stranger reads %s: %.200s", path, text)
		}
	}
	if code, _, _ := r.post("north", open("p-017")); code != http.StatusUnauthorized {
		t.Errorf("a stranger writes: %d", code)
	}

	jar, _ := cookiejar.New(nil)
	jo := &http.Client{Jar: jar, CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	defer jo.CloseIdleConnections()
	send := func(path string, form url.Values) (int, string) {
		t.Helper()
		a, err := jo.PostForm(r.url+path, form)
		if err != nil {
			t.Fatal(err)
		}
		defer a.Body.Close()
		text, _ := io.ReadAll(a.Body)
		return a.StatusCode, string(text)
	}
	_, code, _ := strings.Cut(g.FirstPage("x"), "code=")
	if code, text := send("/gate/first", url.Values{"code": {code}, "name": {"Jo Marsh"}, "password": {"seven larks over water"},
		"again": {"seven larks over water"}}); code != http.StatusSeeOther {
		t.Fatalf("%d %s", code, text)
	}
	if code, text := send("/people", url.Values{"name": {"Ada Quill"}, "role": {"player"}}); code != http.StatusSeeOther {
		t.Fatalf("%d %s", code, text)
	}
	if code, text := send("/bays/north/open",
		url.Values{"player": {"Ada Quill"}, "category": {"iron"}, "hand": {"right"}, "who": {"f-someone"}}); code != http.StatusSeeOther {
		t.Fatalf("%d %s", code, text)
	}
	token, err := gate.ReadToken(filepath.Join(dir, "token"))
	if err != nil {
		t.Fatal(err)
	}
	asHub := func(method, path, body string) (int, string) {
		t.Helper()
		q, _ := http.NewRequestWithContext(t.Context(), method, r.url+path, strings.NewReader(body))
		q.Header.Set("Authorization", "Bearer "+token)
		a, err := http.DefaultClient.Do(q)
		if err != nil {
			t.Fatal(err)
		}
		defer a.Body.Close()
		text, _ := io.ReadAll(a.Body)
		return a.StatusCode, string(text)
	}
	defer http.DefaultClient.CloseIdleConnections()
	_, events := asHub("GET", "/api/bays/north/events", "")
	_, names := asHub("GET", "/api/people", "")
	if strings.Count(events, "\n") != 1 || strings.Contains(events, "f-someone") || !strings.Contains(events, `"device":"browser"`) &&
		!strings.Contains(events, `"device": "browser"`) || !strings.Contains(names, "Jo Marsh") {
		t.Errorf("%s %s", events, names)
	}
	player := playerOf(events)
	for body, why := range map[string]string{
		`{"sessionErased":{"player":"` + player + `"}}`:                       "no erasure",
		`{"sessionErased":{}}`:                                                "one player",
		`{"priorTaken":{}}`:                                                   "console alone",
		`{"clockMet":{"boot":"b","aheadNs":"1"}}`:                             "console alone",
		`{"erased":true,"feelNoted":{}}`:                                      "has its words",
		`{"person":"f-other","device":"d-other","sessionClosed":{},"id":"x"}`: "",
	} {
		code, text := asHub("POST", "/api/bays/north/events", body)
		if why == "" && code != http.StatusOK || why != "" && (code != http.StatusUnprocessableEntity || !strings.Contains(text, why)) {
			t.Errorf("%s: %d %s", body, code, text)
		}
	}
	if _, events := asHub("GET", "/api/bays/north/events", ""); strings.Contains(events, "f-other") || !strings.Contains(events, `hub`) {
		t.Errorf("a program speaks for others: %s", events)
	}
	// Asked for, it is not due, and can be taken back.
	if code, text := asHub("POST", "/api/erasures", `{"player":"`+player+`","name":"Ada Quill"}`); code != http.StatusOK {
		t.Errorf("%d %s", code, text)
	}
	if code, text := asHub("DELETE", "/api/people/"+player, ""); code != http.StatusConflict {
		t.Errorf("before it is due: %d %s", code, text)
	}
	if code, text := asHub("DELETE", "/api/erasures/"+player, ""); code != http.StatusOK {
		t.Errorf("%d %s", code, text)
	}
}

// playerOf is the player of the session that an event opened.
func playerOf(events string) string {
	i := strings.Index(events, "p-")
	return events[i : i+strings.IndexAny(events[i:], `"`)]
}
