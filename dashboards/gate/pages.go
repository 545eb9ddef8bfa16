package gate

import (
	"embed"
	"fmt"
	"html/template"
	"net/http"
	"strings"
	"time"

	"fairlead/dashboards/page"
)

//go:embed assets templates
var files embed.FS

func parsePages() (*template.Template, error) {
	pages, err := template.New("").Funcs(template.FuncMap{
		"when":  func(t time.Time) string { return t.Local().Format("2006-01-02 15:04") },
		"exact": func(t time.Time) string { return t.Local().Format("2006-01-02 15:04:05") },
		"roles": joined,
	}).ParseFS(files, "templates/*.html")
	if err != nil {
		return nil, fmt.Errorf("pages of the gate: %w", err)
	}
	return pages, nil
}

// view is what the gate's pages show.
type view struct {
	Title, Studio, Error, Said, To, Home string
	Code                                 string // typed, or to be shown
	Until                                time.Time
	Name, Now                            string
	Device                               *Device
	Accounts                             []Account
	Devices                              []Device
	Marks                                []Mark
	All                                  []Role
	Bays                                 []string
	Names                                map[string]string
	Sessions                             []sessionRow
	HasPIN, Wide, Manages, Clear         bool
	Find                                 string
	Provider                             string // what people call it; empty: there is none
}

func (g *Gate) show(w http.ResponseWriter, r *http.Request, code int, name string, v view) {
	v.Studio, v.Device, v.All, v.Bays = g.o.Studio, deviceOf(r), Roles, g.o.Bays
	if b, ok := w.(*barred); !ok || b == nil {
		if i := From(r.Context()); i != nil {
			w = &barred{w, g.barOf(i, r)}
		} else {
			v.Clear = g.o.Clear
		}
	}
	page.Show(w, g.o.Logger, g.pages, code, name, v)
}

// piece answers a form that a script sent.
func (g *Gate) piece(w http.ResponseWriter, code int, why string, signIn bool) {
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(code)
	if err := g.pages.ExecuteTemplate(w, "piece", map[string]any{"Error": why, "SignIn": signIn}); err != nil {
		g.o.Logger.Error("a notice can't be shown", "error", err)
	}
}

// ownPages serves the gate's own routes.
func (g *Gate) ownPages() *http.ServeMux {
	mux := http.NewServeMux()
	mux.Handle("GET /gate/assets/", http.StripPrefix("/gate/", page.Cached(http.FileServerFS(files))))
	mux.HandleFunc("GET /gate/in", func(w http.ResponseWriter, r *http.Request) { g.showIn(w, r, http.StatusOK, "") })
	mux.HandleFunc("POST /gate/in", g.signIn)
	mux.HandleFunc("POST /gate/pin", g.byPIN)
	mux.HandleFunc("GET /gate/provider", g.toProvider)
	mux.HandleFunc("GET /gate/provider/back", g.fromProvider)
	mux.HandleFunc("GET /gate/first", func(w http.ResponseWriter, r *http.Request) { g.showFirst(w, r, http.StatusOK, "") })
	mux.HandleFunc("POST /gate/first", g.makeFirst)
	mux.HandleFunc("GET /gate/join", func(w http.ResponseWriter, r *http.Request) { g.showJoin(w, r, http.StatusOK, "") })
	mux.HandleFunc("POST /gate/join", g.join)
	mux.HandleFunc("GET /gate/pair", func(w http.ResponseWriter, r *http.Request) { g.showPair(w, r, http.StatusOK, "") })
	mux.HandleFunc("POST /gate/pair", g.pair)
	mux.HandleFunc("GET /gate/still", func(w http.ResponseWriter, _ *http.Request) { w.WriteHeader(http.StatusNoContent) })
	mux.HandleFunc("GET /gate/home", func(w http.ResponseWriter, r *http.Request) {
		g.show(w, r, http.StatusOK, "home.html", view{Title: "Pictures"})
	})
	mux.HandleFunc("POST /gate/out", g.signOut)
	mux.HandleFunc("GET /gate/me", func(w http.ResponseWriter, r *http.Request) { g.showMe(w, r, http.StatusOK, "", "") })
	mux.HandleFunc("POST /gate/me", g.changeMe)
	mux.HandleFunc("POST /gate/me/sessions/{session}/end", g.endSession)
	mux.HandleFunc("GET /gate/people", func(w http.ResponseWriter, r *http.Request) { g.showPeople(w, r, http.StatusOK, view{}) })
	mux.HandleFunc("POST /gate/people", g.addPerson)
	mux.HandleFunc("POST /gate/people/{id}/{act}", g.changePerson)
	mux.HandleFunc("GET /gate/devices", func(w http.ResponseWriter, r *http.Request) { g.showDevices(w, r, http.StatusOK, view{}) })
	mux.HandleFunc("POST /gate/devices", g.newPairing)
	mux.HandleFunc("POST /gate/devices/{id}/revoke", g.revokeDevice)
	mux.HandleFunc("GET /gate/trail", g.showTrail)
	return mux
}

// within keeps an address to go on to inside this site.
func within(to string) string {
	if !strings.HasPrefix(to, "/") || strings.HasPrefix(to, "//") || strings.ContainsAny(to, "\\\r\n\t") || strings.HasPrefix(to, "/gate/") {
		return "/"
	}
	return to
}
