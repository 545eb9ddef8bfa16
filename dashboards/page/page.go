// Package page is what all pages of the console's address have in common: how
// they are written, guarded, and what browsers may keep of them.
package page

import (
	"bytes"
	"html/template"
	"log/slog"
	"net/http"
	"slices"
)

// Show writes a page whole, or says that it can't be shown: half a page would
// look like the whole of it. Nothing keeps it: it shows what is so now.
func Show(w http.ResponseWriter, log *slog.Logger, pages *template.Template, code int, name string, data any) {
	var b bytes.Buffer
	if err := pages.ExecuteTemplate(&b, name, data); err != nil {
		log.Error("a page can't be shown", "page", name, "error", err)
		http.Error(w, "this page can't be shown: "+err.Error(), http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.Header().Set("Cache-Control", "no-store")
	w.WriteHeader(code)
	w.Write(withBar(w, b.Bytes()))
}

// Barred is a response whose pages begin with a bar, such as who is signed in.
type Barred interface{ Bar() template.HTML }

// withBar puts the bar of a response at the beginning of the page's body.
func withBar(w http.ResponseWriter, text []byte) []byte {
	barred, ok := w.(Barred)
	body := bytes.Index(text, []byte("<body"))
	if !ok || body < 0 {
		return text
	}
	end := bytes.IndexByte(text[body:], '>')
	if end < 0 {
		return text
	}
	return slices.Concat(text[:body+end+1], []byte(barred.Bar()), text[body+end+1:])
}

// Cached lets browsers keep what is built into the program for a while.
func Cached(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Cache-Control", "max-age=300")
		next.ServeHTTP(w, r)
	})
}

// Secured keeps other sites from framing a page, the page from loading anything
// that is not its own, and refuses what a browser writes on behalf of another
// site.
func Secured(next http.Handler) http.Handler {
	next = http.NewCrossOriginProtection().Handler(next)
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", "default-src 'self'; style-src 'self' 'unsafe-inline'; frame-ancestors 'none'; form-action 'self'; "+
			"base-uri 'none'")
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "no-referrer")
		next.ServeHTTP(w, r)
	})
}

// Strict has browsers come by TLS alone from now on, for half a year, where they
// came by a name under which they trust the certificate by themselves: the
// studio's own has yet to be told to a new tablet.
func Strict(next http.Handler, known func(host string) bool) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.TLS != nil && known(r.TLS.ServerName) {
			w.Header().Set("Strict-Transport-Security", "max-age=15552000")
		}
		next.ServeHTTP(w, r)
	})
}
