package fleet

import (
	"context"
	"embed"
	"errors"
	"html/template"
	"log/slog"
	"net/http"
	"sync"
	"time"

	"fairlead/dashboards/figure"
	"fairlead/dashboards/page"
	"fairlead/processors/ask/answers"
	"fairlead/processors/hub/store"
)

//go:embed assets templates
var files embed.FS

// Options of the pages. The zero value works.
type Options struct {
	Studio   string // in the heading
	Now      func() time.Time
	Workers  int  // cores of a fit; 0: all
	Imperial bool // yards, mph and inches
}

// Handler serves /fleet/…. Jobs move while Run runs.
type Handler struct {
	fleet  *answers.Fleet
	jobs   *answers.Jobs
	sheets sheets
	log    *slog.Logger
	studio string
	units  figure.Units
	pages  *template.Template
	mux    *http.ServeMux

	guarded http.Handler
	asking  sync.Mutex // of questions of the trade
}

// New makes the pages over a migrated store. It serves nothing outside /fleet/.
func New(s *store.Store, log *slog.Logger, o Options) *Handler {
	f := answers.New(s, answers.Options{Logger: log, Now: o.Now, Workers: o.Workers})
	h := &Handler{fleet: f, jobs: answers.NewJobs(f), log: log, studio: o.Studio, units: figure.Units{Imperial: o.Imperial},
		mux: http.NewServeMux()}
	h.pages = template.Must(template.New("").Funcs(functions).ParseFS(files, "templates/*.html"))
	h.mux.Handle("GET /fleet/assets/", http.StripPrefix("/fleet/", page.Cached(http.FileServerFS(files))))
	h.mux.HandleFunc("GET /fleet/{$}", h.effects)
	h.mux.HandleFunc("GET /fleet/kept", h.kept)
	h.mux.HandleFunc("GET /fleet/priors", h.priors)
	h.mux.HandleFunc("GET /fleet/robustness", h.robustness)
	h.mux.HandleFunc("GET /fleet/methods", h.methods)
	h.mux.HandleFunc("GET /fleet/questions", h.questions)
	h.mux.HandleFunc("GET /fleet/questions/{kind}", h.enquire)
	h.mux.HandleFunc("GET /fleet/answers/{file}", h.download)
	h.mux.HandleFunc("GET /fleet/behind", h.behind)
	h.mux.HandleFunc("GET /fleet/trial", h.trial)
	h.mux.HandleFunc("GET /fleet/compare", h.compare)
	h.mux.HandleFunc("GET /fleet/promises", h.promises)
	h.mux.HandleFunc("POST /fleet/ask", h.ask)
	h.mux.HandleFunc("POST /fleet/freeze", h.freeze)
	h.mux.HandleFunc("POST /fleet/refit", h.refit)
	h.mux.HandleFunc("GET /fleet/jobs/{id}", h.job)
	h.mux.HandleFunc("GET /fleet/jobs/{id}/events", h.jobEvents)
	h.guarded = page.Secured(h.mux)
	return h
}

// Run answers questions that were asked on the pages, until ctx ends.
func (h *Handler) Run(ctx context.Context) { h.jobs.Run(ctx) }

func (h *Handler) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	h.guarded.ServeHTTP(w, r)
}

func (h *Handler) words(s *answers.Stored) words { return wordsFor(s, h.units) }

// show writes a page.
func (h *Handler) show(w http.ResponseWriter, code int, name string, data map[string]any) {
	data["Studio"] = h.studio
	page.Show(w, h.log, h.pages, code, name, data)
}

// fail shows what went wrong: a question that cannot be meant is the reader's
// to change, anything else is ours.
func (h *Handler) fail(w http.ResponseWriter, r *http.Request, err error) {
	if r.Context().Err() != nil {
		return
	}
	code := http.StatusInternalServerError
	var filter *answers.FilterError
	var build *answers.UnknownBuildError
	var gone *answers.GoneError
	switch {
	case errors.As(err, &filter), errors.As(err, &build):
		code = http.StatusBadRequest
	case errors.As(err, &gone):
		code = http.StatusGone
	case errors.Is(err, answers.ErrNoAnswer):
		code = http.StatusNotFound
	case errors.Is(err, answers.ErrNoSnapshot):
		code = http.StatusNotFound
		err = errors.New("nothing was asked of the fleet yet: the first answers come with the night's run, or ask now")
	default:
		h.log.Error("a fleet page failed", "path", r.URL.Path, "error", err)
	}
	h.show(w, code, "fail.html", map[string]any{"Title": http.StatusText(code), "Error": err.Error(), "CanAsk": code == http.StatusNotFound})
}
