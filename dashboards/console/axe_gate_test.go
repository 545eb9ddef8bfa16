package console

import (
	"net/http/httptest"
	"net/http/httputil"
	"net/url"
	"path/filepath"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"fairlead/dashboards/gate"
	"fairlead/deploy/axe"
)

// lookAtTheGate looks over the pages by which one comes in: as a stranger in
// clear, as who makes the first account, and as the manager that they are then.
func lookAtTheGate(t *testing.T, look *looker, console string) {
	dir := t.TempDir()
	g, err := gate.New(gate.Options{Dir: filepath.Join(dir, "gate"), TokenFile: filepath.Join(dir, "token"), Studio: testStudio,
		Bays: []string{"north"}, Listen: "127.0.0.1:0",
		Provider: &gate.Provider{Issuer: "http://127.0.0.1:1", Client: "console", Claim: "email", Name: "the group's account"}})
	if err != nil {
		t.Fatal(err)
	}
	behind, err := url.Parse(console)
	if err != nil {
		t.Fatal(err)
	}
	site := httptest.NewServer(g.Handler(httputil.NewSingleHostReverseProxy(behind)))
	t.Cleanup(site.Close)
	trust, err := (&gate.Trust{Studio: testStudio, Fingerprint: "3A:9F:20:C4", Ends: time.Now().AddDate(2, 0, 0)}).Handler()
	if err != nil {
		t.Fatal(err)
	}
	inClear := httptest.NewServer(trust)
	t.Cleanup(inClear.Close)
	look.over(inClear.URL+"/", "", "document")

	first := g.FirstPage(site.Listener.Addr().String())
	look.over(first, "", "document")
	send := func(path string, values ...string) { // the form that goes there
		t.Helper()
		js := `(() => { const f = document.querySelector('form[action="` + path + `"]'); `
		for i := 0; i < len(values); i += 2 {
			js += `f.querySelector('[name=` + values[i] + `]').value = '` + values[i+1] + `'; `
		}
		do(t, look.ctx, chromedp.WaitReady(`form[action="`+path+`"]`))
		eval[bool](t, look.ctx, js+`document.body.dataset.sent = 'yes'; f.querySelector('button').click(); return true })()`)
		truth(t, look.ctx, "the answer to "+path+" is there", `document.readyState === 'complete' && document.body && !document.body.dataset.sent`)
	}
	const password = "seven larks over water"
	send("/gate/first", "name", "Jo Marsh", "password", password, "again", password)
	seen := []string{"/gate/first"}
	for _, path := range []string{"/gate/home", "/gate/join?code=abc", "/gate/pair?code=abc", "/gate/me", "/gate/people", "/gate/devices",
		"/gate/trail", "/gate/in", "/gate/provider", "/gate/provider/back"} {
		look.over(site.URL+path, "", "document")
		seen = append(seen, path)
	}
	axe.Demand(t, seen, "/gate/")
	// What was refused, and what is shown once.
	send("/gate/in", "name", "Jo Marsh", "password", "wrong")
	look.here("a wrong password", "document")
	do(t, look.ctx, chromedp.Navigate(site.URL+"/gate/devices"))
	send("/gate/devices", "name", "tablet of the north bay")
	look.here("a code for a tablet", "document")
	do(t, look.ctx, chromedp.Navigate(site.URL+"/gate/people"))
	send("/gate/people", "name", "Ann Reed")
	look.here("an account without a role", "document")
}
