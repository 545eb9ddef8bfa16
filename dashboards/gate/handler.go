package gate

import (
	"context"
	"encoding/json"
	"net/http"
	"net/url"
	"path"
	"strings"
)

// Handler lets through who may reach a route of next by the table, as whom the
// request's context then says, and answers the others. A nil gate asks nobody.
func (g *Gate) Handler(next http.Handler) http.Handler {
	if g == nil {
		return next
	}
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		found, _ := g.routes.Handler(r)
		route, ok := found.(Route)
		if !ok {
			found.ServeHTTP(w, r) // not found, another method, or an address to be cleaned
			return
		}
		if g.o.Open && strings.HasPrefix(r.URL.Path, "/gate/") && !strings.HasPrefix(r.URL.Path, "/gate/assets/") {
			http.Redirect(w, r, "/", http.StatusSeeOther)
			return
		}
		g.admit(route, g.through(r, next)).ServeHTTP(w, r)
	})
}

// through is what serves a request that is let through.
func (g *Gate) through(r *http.Request, next http.Handler) http.Handler {
	if strings.HasPrefix(r.URL.Path, "/gate/") {
		return g.own
	}
	return next
}

// admit asks who comes, and lets them through if the route is theirs.
func (g *Gate) admit(route Route, next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if g.o.Open {
			next.ServeHTTP(&barred{w, g.openBar()}, r)
			return
		}
		i, device, err := g.identify(r)
		if err != nil {
			g.o.Logger.Error("nobody is let in", "error", err)
			http.Error(w, "the accounts can't be read, so nobody is let in; the console's log says why", http.StatusServiceUnavailable)
			return
		}
		ctx := context.WithValue(r.Context(), deviceKey{}, device)
		if i != nil {
			ctx = context.WithValue(ctx, identityKey{}, i)
		}
		r = r.WithContext(ctx)
		switch {
		case route.Public:
			next.ServeHTTP(w, r)
			return
		case i == nil:
			g.unknown(w, r)
			return
		case !route.allows(i.Roles):
			g.refused(w, r, i, "your account is not for this: it is for "+joined(route.Who))
			return
		case route.Password && i.ByPIN:
			g.refused(w, r, i, "this wants your password, not the PIN: sign in with it")
			return
		}
		if (route.Names || route.Takes) && !g.notedLately(i.Person+i.Device+r.Method+r.URL.Path) {
			what := "saw"
			if r.Method != http.MethodGet && r.Method != http.MethodHead {
				what = "changed"
			} else if route.Takes || taken[path.Ext(r.URL.Path)] {
				what = "exported"
			}
			g.note(i, r, what, r.URL.Path)
		}
		if strings.HasSuffix(r.URL.Path, "/live") || strings.HasSuffix(route.Pattern, "/events") && r.Method == http.MethodGet {
			live, done := g.watched(r.Context(), i)
			defer done()
			r = r.WithContext(live)
		}
		next.ServeHTTP(&barred{w, g.barOf(i, r)}, r)
	})
}

// taken are the ends of addresses whose answer is a file to take along.
var taken = map[string]bool{".csv": true, ".json": true, ".pdf": true, ".txt": true}

type deviceKey struct{}

func deviceOf(r *http.Request) *Device {
	d, _ := r.Context().Value(deviceKey{}).(*Device)
	return d
}

// unknown answers who is not signed in.
func (g *Gate) unknown(w http.ResponseWriter, r *http.Request) {
	switch {
	case forPrograms(r):
		w.Header().Set("WWW-Authenticate", `Bearer realm="fairlead"`)
		problem(w, http.StatusUnauthorized, "nobody is signed in: send the token of DATA/keys/console.token as `Authorization: Bearer TOKEN`, "+
			"or sign in at /gate/in")
	case r.Header.Get("HX-Request") != "":
		g.piece(w, http.StatusUnauthorized, "You are not signed in any more; what you typed is still there.", true)
	case r.Method == http.MethodGet && !strings.HasSuffix(r.URL.Path, "/live"):
		to := "/gate/in?to=" + url.QueryEscape(r.URL.RequestURI())
		if g.setup != "" && g.nobodyYet() {
			to = "/gate/first"
		}
		http.Redirect(w, r, to, http.StatusSeeOther)
	default:
		http.Error(w, "nobody is signed in: sign in at /gate/in", http.StatusUnauthorized)
	}
}

// refused answers who is signed in and may not.
func (g *Gate) refused(w http.ResponseWriter, r *http.Request, i *Identity, why string) {
	if !g.notedLately("refused" + i.Person + i.Device + r.Method + r.URL.Path) {
		g.note(i, r, "was refused", r.Method+" "+r.URL.Path)
	}
	switch {
	case forPrograms(r):
		problem(w, http.StatusForbidden, why)
	case r.Header.Get("HX-Request") != "":
		g.piece(w, http.StatusForbidden, why, false)
	case r.Method == http.MethodGet && r.URL.Path == "/":
		http.Redirect(w, r, homeOf(i.Roles), http.StatusSeeOther)
	default:
		g.show(w, r, http.StatusForbidden, "refused.html", view{Title: "Not for this account", Error: why, Home: homeOf(i.Roles)})
	}
}

func forPrograms(r *http.Request) bool {
	return strings.HasPrefix(r.URL.Path, "/api/") || r.URL.Path == "/targets"
}

func problem(w http.ResponseWriter, code int, why string) {
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(code)
	_ = json.NewEncoder(w).Encode(map[string]string{"error": why})
}
