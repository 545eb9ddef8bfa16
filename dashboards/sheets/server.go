package sheets

import (
	"context"
	"embed"
	"encoding/json"
	"errors"
	"fmt"
	"html/template"
	"io"
	"log/slog"
	"net/http"
	"path"
	"strings"
	"time"

	"fairlead/dashboards/draw"
	"fairlead/dashboards/page"
	"fairlead/processors/hub/store"
)

//go:embed assets templates
var files embed.FS

// Options of the pages.
type Options struct {
	Studio   string
	Imperial bool // units of the studio; a page may be asked for the others
	// Store is asked at each page; a nil result means that it is not known yet.
	Store  func() *store.Store
	Name   func(id string) string
	Open   func(text string) string // see Source
	Zone   *time.Location
	Logger *slog.Logger
	// Printer makes PDFs; nil: one of its own.
	Printer *Printer
}

// Handler serves /sheets/ and /reports/.
type Handler struct {
	o     Options
	log   *slog.Logger
	pages *template.Template
	mux   *http.ServeMux
}

// New makes the pages. The caller guards them: they have no log-in and only read.
func New(o Options) *Handler {
	h := &Handler{o: o, log: o.Logger, mux: http.NewServeMux()}
	if h.o.Printer == nil {
		h.o.Printer = NewPrinter()
	}
	if h.log == nil {
		h.log = slog.New(slog.DiscardHandler)
	}
	h.pages = templates()
	h.mux.Handle("GET /sheets/assets/", http.StripPrefix("/sheets/", page.Cached(http.FileServerFS(files))))
	h.mux.HandleFunc("GET /sheets/{$}", h.list)
	h.mux.HandleFunc("GET /sheets/{verdict}", h.sheet)
	h.mux.HandleFunc("GET /reports/{visit}", h.report)
	return h
}

func templates() *template.Template {
	return template.Must(template.New("").Funcs(functions).ParseFS(files, "templates/*.html"))
}

func (h *Handler) ServeHTTP(w http.ResponseWriter, r *http.Request) { h.mux.ServeHTTP(w, r) }

var functions = template.FuncMap{
	"day":     func(t time.Time) string { return t.Format("2 January 2006") },
	"when":    func(t time.Time) string { return t.Format("2 January 2006, 15:04") },
	"word":    func(s string) string { return strings.ReplaceAll(s, "_", " ") },
	"upper":   func(s string) string { return strings.TrimSuffix(sentence(s), ".") },
	"shout":   strings.ToUpper,
	"gloss":   func() [][2]string { return gloss },
	"warn":    func() string { return caution },
	"chance":  chance,
	"drawing": func() template.CSS { return draw.Style },
}

// errNoStore says that nothing can be read yet.
var errNoStore = errors.New("the store was not started yet: `fairlead engine`, or the ClickHouse server of store.dsn, has to run")

func (h *Handler) source() (*Source, error) {
	var s *store.Store
	if h.o.Store != nil {
		s = h.o.Store()
	}
	if s == nil {
		return nil, errNoStore
	}
	return &Source{Store: s, Studio: h.o.Studio, Name: h.o.Name, Open: h.o.Open, Zone: h.o.Zone}, nil
}

// units are those of the studio, unless the address asks for others.
func (h *Handler) units(r *http.Request) (Units, error) {
	switch word := r.FormValue("units"); word {
	case "":
		return Units{Imperial: h.o.Imperial}, nil
	case "imperial", "metric":
		return Units{Imperial: word == "imperial"}, nil
	default:
		return Units{}, fmt.Errorf("%w: units %q: use imperial or metric", errAsked, word)
	}
}

var errAsked = errors.New("can't be shown like this")

// form splits the form that a paper is asked in off its id: .json, .txt, .pdf.
func form(name string) (id, form string) {
	for _, f := range []string{"json", "txt", "pdf"} {
		if cut, ok := strings.CutSuffix(name, "."+f); ok {
			return cut, f
		}
	}
	return name, "html"
}

func (h *Handler) list(w http.ResponseWriter, r *http.Request) {
	s, err := h.source()
	if err != nil {
		h.fail(w, r, err)
		return
	}
	lines, err := s.Recent(r.Context(), 200)
	if err != nil {
		h.fail(w, r, err)
		return
	}
	h.show(w, http.StatusOK, "list.html", map[string]any{"Title": "Build sheets and reports", "Lines": lines})
}

func (h *Handler) sheet(w http.ResponseWriter, r *http.Request) {
	id, as := form(r.PathValue("verdict"))
	h.paper(w, r, as, "sheet.html", func(ctx context.Context, s *Source, u Units) (any, string, func(io.Writer) error, error) {
		p, err := s.Sheet(ctx, id, u)
		if err != nil {
			return nil, "", nil, err
		}
		return p, p.title(), p.WriteText, nil
	})
}

func (h *Handler) report(w http.ResponseWriter, r *http.Request) {
	id, as := form(r.PathValue("visit"))
	h.paper(w, r, as, "report.html", func(ctx context.Context, s *Source, u Units) (any, string, func(io.Writer) error, error) {
		p, err := s.Report(ctx, id, r.FormValue("session"), u)
		if err != nil {
			return nil, "", nil, err
		}
		return p, "Report of your fitting", p.WriteText, nil
	})
}

// paper makes one and sends it in the form that was asked for.
func (h *Handler) paper(w http.ResponseWriter, r *http.Request, as, page string,
	make func(context.Context, *Source, Units) (any, string, func(io.Writer) error, error)) {
	u, err := h.units(r)
	if err != nil {
		h.fail(w, r, err)
		return
	}
	s, err := h.source()
	if err != nil {
		h.fail(w, r, err)
		return
	}
	p, title, text, err := make(r.Context(), s, u)
	if err != nil {
		h.fail(w, r, err)
		return
	}
	w.Header().Set("Cache-Control", "no-store")
	switch as {
	case "json":
		w.Header().Set("Content-Type", "application/json")
		e := json.NewEncoder(w)
		e.SetIndent("", "  ")
		e.Encode(p)
	case "txt":
		w.Header().Set("Content-Type", "text/plain; charset=utf-8")
		text(w)
	default:
		other := Units{Imperial: !u.Imperial}
		here := strings.TrimSuffix(r.URL.Path, ".pdf")
		data := map[string]any{"Title": title, "P": p, "Here": here, "Units": u.Word(), "Other": other.Word(), "Session": r.FormValue("session"),
			"All": r.FormValue("all") != "", "MayAll": page == "report.html"}
		if as == "pdf" {
			h.pdf(w, r, page, path.Base(here), data)
			return
		}
		h.show(w, http.StatusOK, page, data)
	}
}

// show writes a page.
func (h *Handler) show(w http.ResponseWriter, code int, name string, data map[string]any) {
	data["Studio"] = h.o.Studio
	page.Show(w, h.log, h.pages, code, name, data)
}

// fail shows what went wrong.
func (h *Handler) fail(w http.ResponseWriter, r *http.Request, err error) {
	if r.Context().Err() != nil {
		return
	}
	code := http.StatusInternalServerError
	switch {
	case errors.Is(err, ErrNoVerdict), errors.Is(err, ErrNoVisit):
		code = http.StatusNotFound
		err = fmt.Errorf("%w. One that was given a moment ago takes a few seconds to be stored: reload the page. Otherwise compare the number "+
			"with the list", err)
	case errors.Is(err, errNoStore), errors.Is(err, ErrNoPrinter):
		code = http.StatusServiceUnavailable
	case errors.Is(err, errAsked):
		code = http.StatusBadRequest
	default:
		h.log.Error("a sheet can't be made", "path", r.URL.Path, "error", err)
	}
	h.show(w, code, "fail.html", map[string]any{"Title": http.StatusText(code), "Error": err.Error()})
}
