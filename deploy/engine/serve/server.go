package serve

import (
	"crypto/subtle"
	"errors"
	"log/slog"
	"net/http"
	"strings"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/promhttp"
)

// Config is what a Server needs to know.
type Config struct {
	// Token must come with every statement: as X-ClickHouse-Key, as the password of Basic, or as Bearer.
	Token string
	// TempDir takes bodies that do not fit into memory; it should be on the disk of the data.
	TempDir string
	Log     *slog.Logger
	// Registry takes the metrics, and /metrics shows it.
	Registry *prometheus.Registry
}

// Server is the HTTP handler. Close the Pool after the last request.
type Server struct {
	pool    *Pool
	token   string
	spool   *Spool
	log     *slog.Logger
	metrics *metrics
	hello   hello
	mux     *http.ServeMux
}

// New makes the handler.
func New(pool *Pool, c Config) (*Server, error) {
	if c.Token == "" {
		return nil, errors.New("the engine needs a token: without one every local program could write")
	}
	version, err := pool.ask("SELECT version()")
	if err != nil {
		return nil, err
	}
	s := &Server{
		pool: pool, token: c.Token, spool: NewSpool(c.TempDir), log: c.Log,
		metrics: newMetrics(c.Registry, pool, version),
		hello:   hello{version: version},
		mux:     http.NewServeMux(),
	}
	s.mux.HandleFunc("GET /ping", func(w http.ResponseWriter, _ *http.Request) { _, _ = w.Write([]byte("Ok.\n")) })
	s.mux.Handle("GET /metrics", promhttp.HandlerFor(c.Registry, promhttp.HandlerOpts{}))
	s.mux.HandleFunc("/{$}", s.statement)
	return s, nil
}

func (s *Server) ServeHTTP(w http.ResponseWriter, r *http.Request) { s.mux.ServeHTTP(w, r) }

func (s *Server) allowed(r *http.Request) bool {
	got := r.Header.Get("X-ClickHouse-Key")
	if _, password, ok := r.BasicAuth(); ok && got == "" {
		got = password
	}
	if bearer, ok := strings.CutPrefix(r.Header.Get("Authorization"), "Bearer "); ok && got == "" {
		got = bearer
	}
	return subtle.ConstantTimeCompare([]byte(got), []byte(s.token)) == 1
}

// statement answers one statement.
func (s *Server) statement(w http.ResponseWriter, r *http.Request) {
	begin := time.Now()
	kind, outcome := "other", "ok"
	s.metrics.running.Inc()
	defer func() {
		s.metrics.running.Dec()
		s.metrics.requests.WithLabelValues(kind, outcome).Inc()
		s.metrics.duration.WithLabelValues(kind).Observe(time.Since(begin).Seconds())
	}()
	reject := func(status int, code int, text string) {
		outcome = "rejected"
		writeError(w, status, code, text)
	}

	if r.Method != http.MethodPost && r.Method != http.MethodGet {
		reject(http.StatusMethodNotAllowed, codeNotSupported, "method "+r.Method+" is not supported: use POST")
		return
	}
	if !s.allowed(r) {
		reject(http.StatusForbidden, codeAuth, "the token is missing or wrong: send the one in the engine's token file "+
			"as X-ClickHouse-Key, or as the password")
		return
	}
	if strings.HasPrefix(r.Header.Get("Content-Type"), "multipart/") {
		reject(http.StatusNotImplemented, codeNotSupported, "external tables (multipart bodies) are not supported: "+
			"insert the rows into a table first")
		return
	}
	o, err := readOptions(r)
	if err != nil {
		reject(http.StatusBadRequest, codeBadArguments, err.Error())
		return
	}
	body, err := s.readBody(w, r, o)
	if err != nil {
		var spool *spoolError
		if errors.As(err, &spool) {
			reject(http.StatusInsufficientStorage, codeDisk, err.Error())
			return
		}
		reject(http.StatusBadRequest, codeReadBody, "the request broke off or is damaged; nothing of it was executed: "+err.Error())
		return
	}
	defer body.Close()
	req, err := split(o.query, body)
	if err != nil {
		reject(http.StatusBadRequest, codeOf(err), err.Error())
		return
	}
	if s.hello.asked(req.SQL) && o.protocol > 0 {
		kind = "hello"
		if err := s.hello.answer(w, r, o); err != nil {
			outcome = "failed"
			writeError(w, http.StatusInternalServerError, codeUnknown, err.Error())
		}
		return
	}
	x := &execution{server: s, w: w, r: r, options: o, request: req}
	kind = x.kind()
	if err := x.run(); err != nil {
		outcome = "failed"
		if r.Context().Err() != nil {
			outcome = "abandoned"
		}
		x.fail(err)
	}
}
