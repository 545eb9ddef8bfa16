package feed

import (
	"bytes"
	"context"
	"crypto/subtle"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"strings"
	"sync"
	"time"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/steady"
)

// HTTPConfig says what an HTTP feed takes. Values left at zero get the one named.
type HTTPConfig struct {
	Map      *Map
	Token    string       // if set, requests carry it as `Authorization: Bearer TOKEN`
	MaxBytes int64        // of a body: 1 MiB
	MaxLines int          // of a body: 5,000; each takes a hundred times its bytes until it is durable
	Log      *slog.Logger // slog.DiscardHandler
	// Since is the time since the machine was started; the system's.
	Since func() time.Duration
}

// HTTP takes lines by POST: one or many, as the map's format says, with a
// header line first where the map wants one. The answer comes when they are
// durable. A device that gets no answer sends the same again; the shot ids are
// the same then, which is why the map must give a shot id or a time.
//
// It is an http.Handler for the feed's path, and a Source: requests are taken
// while Run runs, and answered 503 otherwise.
type HTTP struct {
	cfg HTTPConfig
	stateBox
	mu   sync.RWMutex // held for reading by each request, for writing to begin and end
	emit Emit
	gap  gap
}

// NewHTTP checks the configuration.
func NewHTTP(cfg HTTPConfig) (*HTTP, error) {
	if cfg.Map != nil && cfg.Map.Whole() {
		return nil, cfg.Map.onlyFolders()
	}
	if cfg.Map == nil {
		return nil, errors.New("an HTTP feed needs a field map")
	}
	if !cfg.Map.HasID() && !cfg.Map.HasTime() {
		return nil, fmt.Errorf("map %s: an HTTP feed needs the device's shot id or its time, or a line that is sent again could not be known: "+
			"add shot_id or time", cfg.Map.file)
	}
	if cfg.MaxBytes <= 0 {
		cfg.MaxBytes = 1 << 20
	}
	if cfg.MaxLines <= 0 {
		cfg.MaxLines = 5000
	}
	if cfg.Log == nil {
		cfg.Log = slog.New(slog.DiscardHandler)
	}
	if cfg.Since == nil {
		cfg.Since = steady.System().Since
	}
	return &HTTP{cfg: cfg, gap: gap{since: cfg.Since}}, nil
}

// Run is Source.Run. There is no position: what was not answered is sent again.
// It returns when ctx ends and every request that was taken has its answer.
func (h *HTTP) Run(ctx context.Context, _ []byte, emit Emit) error {
	h.mu.Lock()
	h.emit = emit
	h.gap.open()
	h.mu.Unlock()
	h.set(StateOK, "")
	h.gap.watch(ctx)
	h.mu.Lock()
	h.emit = nil
	h.mu.Unlock()
	h.set(StateStopped, ctx.Err().Error())
	return ctx.Err()
}

// Answer is the JSON body of an answer with status 200, 207 or 422.
type Answer struct {
	Lines    int      `json:"lines"`    // that were taken, durably
	Shots    int      `json:"shots"`    // of these, valid shots
	Rejected int      `json:"rejected"` // of these, kept with their faults
	Skipped  uint64   `json:"skipped"`  // empty lines, comments, headers
	Rejects  []Reject `json:"rejects,omitempty"`
	// NoShots are the places of the items that were no shots, from 1, in the
	// order of the body.
	NoShots []int  `json:"no_shots,omitempty"`
	Error   string `json:"error,omitempty"`
}

// ServeHTTP answers a POST with an Answer once the lines are durable: 200 when
// every item was a shot, 207 when some were none (they are kept with their
// faults, and sending them again would not help), 422 when none was, be it that
// all were refused or that the body held nothing to read; 401, 405, 413, 415 or
// 503 with {"error": ...} when nothing was taken.
func (h *HTTP) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	status, problem := h.refuse(r)
	var body []byte
	if problem == "" {
		status, problem, body = h.body(w, r)
	}
	if problem != "" {
		writeProblem(w, status, problem)
		return
	}
	h.mu.RLock()
	defer h.mu.RUnlock()
	if h.emit == nil {
		writeProblem(w, http.StatusServiceUnavailable, "the feed is not running; send it again later")
		return
	}
	b, err := h.read(body)
	if errors.Is(err, errManyLines) {
		writeProblem(w, http.StatusRequestEntityTooLarge, fmt.Sprintf("more than %d lines: send fewer at once", h.cfg.MaxLines))
		return
	}
	if err != nil {
		writeProblem(w, http.StatusBadRequest, err.Error())
		return
	}
	if len(b.Drafts) > 0 {
		b.After = h.gap.after()
		if err := h.emit(r.Context(), b); err != nil {
			h.gap.refuse()
			h.set(StateWaiting, err.Error())
			writeProblem(w, http.StatusServiceUnavailable, "nothing was taken, send it again later: "+err.Error())
			return
		}
		h.gap.take()
		h.set(StateOK, "")
	}
	answer := Answer{Lines: len(b.Drafts), Skipped: b.Skipped.Total()}
	for i, d := range b.Drafts {
		if d.Entry.Valid() {
			answer.Shots++
			continue
		}
		answer.Rejected++
		answer.NoShots = append(answer.NoShots, i+1)
		answer.Rejects = append(answer.Rejects, Rejects(h.cfg.Map, d.Entry)...)
	}
	w.Header().Set("Content-Type", "application/json")
	switch {
	case answer.Lines == 0:
		answer.Error = fmt.Sprintf("the body holds nothing to read as a shot, in %d bytes; the map reads format %s: check the body, and "+
			"format, records and comment in the map", len(body), h.cfg.Map.kind)
		w.WriteHeader(http.StatusUnprocessableEntity)
	case answer.Shots == 0:
		answer.Error = "no item was a shot; all are kept with their faults, and need not be sent again"
		w.WriteHeader(http.StatusUnprocessableEntity)
	case answer.Rejected > 0:
		w.WriteHeader(http.StatusMultiStatus)
	}
	json.NewEncoder(w).Encode(answer)
}

// refuse checks what can be checked without the body.
func (h *HTTP) refuse(r *http.Request) (status int, problem string) {
	if r.Method != http.MethodPost {
		return http.StatusMethodNotAllowed, "send lines by POST"
	}
	if h.cfg.Token != "" {
		given, ok := strings.CutPrefix(r.Header.Get("Authorization"), "Bearer ")
		if !ok || subtle.ConstantTimeCompare([]byte(given), []byte(h.cfg.Token)) != 1 {
			return http.StatusUnauthorized, "send the feed's token as `Authorization: Bearer TOKEN`"
		}
	} else if r.Header.Get("Origin") != "" {
		// Without a token the feed trusts this machine's programs, and not the
		// pages that a browser on it happens to show.
		return http.StatusForbidden, "a web page may not send lines to a feed without a token"
	}
	return 0, ""
}

func (h *HTTP) body(w http.ResponseWriter, r *http.Request) (status int, problem string, body []byte) {
	if encoding := r.Header.Get("Content-Encoding"); encoding != "" && encoding != "identity" {
		return http.StatusUnsupportedMediaType, "send the lines without compression", nil
	}
	body, err := io.ReadAll(http.MaxBytesReader(w, r.Body, h.cfg.MaxBytes))
	var large *http.MaxBytesError
	switch {
	case errors.As(err, &large):
		return http.StatusRequestEntityTooLarge, fmt.Sprintf("more than %d bytes: send fewer lines at once", h.cfg.MaxBytes), nil
	case err != nil:
		return http.StatusBadRequest, "the body did not arrive whole: " + err.Error(), nil
	}
	return 0, "", body
}

// errManyLines says that a body has more lines than it may.
var errManyLines = errors.New("too many lines")

// read parses a body. Equal lines of one body are counted as in a file, so that
// the same body gives the same shot ids.
func (h *HTTP) read(body []byte) (Batch, error) {
	r := NewReader(h.cfg.Map, "http", bytes.NewReader(body))
	var b Batch
	for {
		d, err := r.Next()
		if err == io.EOF {
			b.Skipped, b.Backlog = r.Skipped(), len(b.Drafts) > 1
			return b, nil
		}
		if err != nil {
			return b, err
		}
		if len(b.Drafts) == h.cfg.MaxLines {
			return b, errManyLines
		}
		h.needIdentity(d.Entry)
		b.Drafts = append(b.Drafts, d)
	}
}

// needIdentity refuses a line by which a second sending could not be told from
// a second shot.
func (h *HTTP) needIdentity(e *event.Entry) {
	if e.Valid() && e.DeviceShotId == "" && e.DeviceUnixNs == 0 {
		e.Faults = append(e.Faults, event.NewFault("device_time", "", "the line has neither a shot id nor a time",
			"an HTTP feed needs one of them, to know a line that is sent again"))
	}
}

func writeProblem(w http.ResponseWriter, status int, problem string) {
	w.Header().Set("Content-Type", "application/json")
	switch status {
	case http.StatusServiceUnavailable:
		w.Header().Set("Retry-After", "1")
	case http.StatusUnauthorized:
		w.Header().Set("WWW-Authenticate", "Bearer")
	case http.StatusMethodNotAllowed:
		w.Header().Set("Allow", http.MethodPost)
	}
	w.WriteHeader(status)
	json.NewEncoder(w).Encode(map[string]string{"error": problem})
}

// Looked implements Looker.
func (h *HTTP) Looked() time.Duration { return h.gap.looked() }
