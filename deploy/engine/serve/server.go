package serve

import (
	"errors"
	"log/slog"
	"net/http"
	"strings"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/promhttp"

	"fairlead/deploy/engine"
)

// Config is what a Server needs to know.
type Config struct {
	// Token must come with every statement: as X-ClickHouse-Key, as the password of Basic, or as Bearer.
	// It may do everything.
	Token string
	// Users is the folder of those who may do less (engine.AddUser); empty: there are none.
	Users string
	// Statements takes a line for each statement of an analyst and for each refusal: who asked what, when, from
	// where. Nil: they go to Log.
	Statements *slog.Logger
	// TempDir takes bodies that do not fit into memory; it should be on the disk of the data.
	TempDir string
	Log     *slog.Logger
	// Registry takes the metrics, and /metrics shows it.
	Registry *prometheus.Registry
}

// Server is the HTTP handler. Close the Pool after the last request.
type Server struct {
	pool    *Pool
	users   *users
	said    *slog.Logger
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
		pool: pool, users: &users{pipeline: engine.Hash(c.Token), dir: c.Users, log: c.Log}, said: c.Statements, spool: NewSpool(c.TempDir),
		log:     c.Log,
		metrics: newMetrics(c.Registry, pool, version),
		hello:   hello{version: version},
		mux:     http.NewServeMux(),
	}
	if s.said == nil {
		s.said = c.Log
	}
	s.mux.HandleFunc("GET /ping", func(w http.ResponseWriter, _ *http.Request) { _, _ = w.Write([]byte("Ok.\n")) })
	s.mux.Handle("GET /metrics", promhttp.HandlerFor(c.Registry, promhttp.HandlerOpts{}))
	s.mux.HandleFunc("/{$}", s.statement)
	return s, nil
}

func (s *Server) ServeHTTP(w http.ResponseWriter, r *http.Request) { s.mux.ServeHTTP(w, r) }

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
	user, known := s.users.of(r)
	if !known {
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
	lane := s.pool.laneOf(user, r)
	body, err := s.readBody(w, r, o, lane.body)
	if err != nil {
		var long *tooLong
		if errors.As(err, &long) {
			s.note(r, user, "", 0, err)
			reject(http.StatusRequestEntityTooLarge, codeTooLarge, err.Error())
			return
		}
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
	x := &execution{server: s, w: w, r: r, options: o, request: req, user: user, lane: lane}
	kind = x.kind()
	err = x.run()
	if user.Purpose == engine.Analyst || err != nil && codeOf(err) == codeDenied {
		s.note(r, user, req.SQL, time.Since(begin), err)
	}
	if err != nil {
		outcome = "failed"
		if r.Context().Err() != nil {
			outcome = "abandoned"
		}
		x.fail(err)
	}
}

// note writes down who asked what.
func (s *Server) note(r *http.Request, user engine.User, sql string, took time.Duration, err error) {
	outcome := "ok"
	if err != nil {
		outcome = err.Error()
	}
	s.said.Info("statement", "user", user.Name, "purpose", string(user.Purpose), "from", r.RemoteAddr,
		"seconds", took.Seconds(), "outcome", outcome[:min(len(outcome), 500)], "sql", sql[:min(len(sql), 4000)])
}
