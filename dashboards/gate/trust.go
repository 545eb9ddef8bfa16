package gate

import (
	"html/template"
	"log/slog"
	"net"
	"net/http"
	"strings"
	"time"

	"fairlead/dashboards/page"
)

// Trust is what the console's address says in clear to who comes without TLS:
// how a tablet comes to trust the studio's authority. Nothing else is served
// there, and nothing is taken.
type Trust struct {
	Studio      string
	DER, PEM    []byte // the authority's certificate
	Fingerprint string
	Ends        time.Time
	// Known says that the console shows a certificate that every browser trusts
	// under the names of it: who comes by one of them is sent on at once.
	Known func(host string) bool
	// Port is the console's, where this is served at another one; empty: as asked.
	Port   string
	Logger *slog.Logger
}

// Handler serves the page with the steps, the certificate, and no more.
func (t *Trust) Handler() (http.Handler, error) {
	pages, err := parsePages()
	if err != nil {
		return nil, err
	}
	assets := http.StripPrefix("/gate/", page.Cached(http.FileServerFS(files)))
	return page.Secured(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		// No part of the console's table of routes: nothing of the console is reached here.
		switch path := r.URL.Path; {
		case r.Method != http.MethodGet && r.Method != http.MethodHead:
			http.Error(w, "nothing is taken in clear here: send it to https://"+t.host(r)+", and change what sent it", http.StatusForbidden)
		case path == "/authority.crt":
			w.Header().Set("Content-Type", "application/x-x509-ca-cert")
			w.Header().Set("Content-Disposition", `attachment; filename="fairlead-`+t.Studio+`.crt"`)
			w.Write(t.DER)
		case path == "/authority.pem":
			w.Header().Set("Content-Type", "application/x-pem-file")
			w.Write(t.PEM)
		case path == "/gate/assets/trust.css":
			assets.ServeHTTP(w, r)
		default:
			t.lead(w, r, pages)
		}
	})), nil
}

// lead shows the steps, or leads on to where browsers need none.
func (t *Trust) lead(w http.ResponseWriter, r *http.Request, pages *template.Template) {
	to := "https://" + t.host(r) + within(r.URL.RequestURI())
	host := r.Host
	if h, _, err := net.SplitHostPort(host); err == nil {
		host = h
	}
	if t.Known != nil && t.Known(host) {
		http.Redirect(w, r, to, http.StatusPermanentRedirect)
		return
	}
	page.Show(w, t.Logger, pages, http.StatusOK, "trust.html", trustView{Title: "This page goes in clear", Studio: t.Studio, To: to,
		Fingerprint: t.Fingerprint, Ends: t.Ends})
}

// host is where the console is, for who asked for this page under a name.
func (t *Trust) host(r *http.Request) string {
	if t.Port == "" {
		return r.Host
	}
	host := r.Host
	if h, _, err := net.SplitHostPort(r.Host); err == nil {
		host = h
	}
	return net.JoinHostPort(strings.Trim(host, "[]"), t.Port)
}

type trustView struct {
	Title, Studio, To, Fingerprint string
	Ends                           time.Time
}
