package bays

import (
	"encoding/json"
	"errors"
	"io"
	"log/slog"
	"net"
	"net/http"
	"sync"

	"fairlead/deploy/studio"
	"fairlead/ingest/bay/desk"
	"fairlead/ingest/log/stream"
)

// Asks is what a bay's PC sends to enrol. Its secret stays there: the hub gets to
// know the public part only.
type Asks struct {
	Bay     string `json:"bay"`
	Code    string `json:"code"`
	Key     string `json:"key"` // public nkey
	Machine string `json:"machine"`
	Program string `json:"program"`
}

// Admitted is the hub's answer.
type Admitted struct {
	Studio    string     `json:"studio"`
	Bay       string     `json:"bay"`
	Broker    string     `json:"broker"`
	Authority string     `json:"authority,omitempty"` // PEM: which hub is the bay's own
	Clear     bool       `json:"clear,omitempty"`     // tls.by: clear
	Given     desk.Given `json:"given"`
	Error     string     `json:"error,omitempty"`
}

// mostAsked bounds what a bay's PC may send, in bytes.
const mostAsked = 4096

// Handler answers bays' PCs that enrol: GET below …/authority shows the studio's
// certificate, POST takes a code. may says whether a code may be tried from where a
// request comes, so that none can be guessed.
func (h Hub) Handler(may func(*http.Request) bool, log *slog.Logger) http.Handler {
	var one sync.Mutex // a code is looked at and used up by one at a time
	mux := http.NewServeMux()
	mux.HandleFunc("GET /enrol/authority", func(w http.ResponseWriter, r *http.Request) {
		if !h.Config.Guarded(h.Config.Console.Listen) && !h.Config.Guarded(h.Config.Broker.Listen) {
			http.NotFound(w, r)
			return
		}
		a, err := h.Config.Authority()
		if err != nil {
			http.Error(w, "the studio's certificate can't be read", http.StatusServiceUnavailable)
			return
		}
		w.Header().Set("Content-Type", "application/x-pem-file")
		w.Write(a.PEM())
	})
	mux.HandleFunc("POST /enrol/join", func(w http.ResponseWriter, r *http.Request) {
		answer := func(code int, a Admitted) {
			w.Header().Set("Content-Type", "application/json")
			w.WriteHeader(code)
			_ = json.NewEncoder(w).Encode(a)
		}
		if !may(r) {
			w.Header().Set("Retry-After", "60")
			answer(http.StatusTooManyRequests, Admitted{Error: "too many codes were tried from this address: wait a minute"})
			return
		}
		var asks Asks
		if err := json.NewDecoder(io.LimitReader(r.Body, mostAsked)).Decode(&asks); err != nil {
			answer(http.StatusBadRequest, Admitted{Error: "what came is no request to enrol: use `fairlead bay join` of this hub's version"})
			return
		}
		one.Lock()
		defer one.Unlock()
		host := r.Host
		if name, _, err := net.SplitHostPort(r.Host); err == nil {
			host = name
		}
		a, err := h.admit(asks, host)
		switch {
		case errors.Is(err, errCode):
			log.Warn("a code that is not good was tried", "from", r.RemoteAddr)
			answer(http.StatusForbidden, Admitted{Error: err.Error()})
		case err != nil:
			log.Error("a bay could not be enrolled", "bay", asks.Bay, "error", err)
			answer(http.StatusInternalServerError, Admitted{Error: err.Error()})
		default:
			log.Info("a bay's PC was enrolled", "bay", asks.Bay, "machine", short(asks.Machine), "from", r.RemoteAddr)
			answer(http.StatusOK, a)
		}
	})
	return mux
}

// admit lets a machine speak for a bay, if its code is good.
func (h Hub) admit(asks Asks, reached string) (Admitted, error) {
	c := h.Config
	grant := stream.Grant{Name: stream.BayCredential(asks.Bay), Key: asks.Key, Role: stream.RoleBay, Studio: c.Studio, Bay: asks.Bay}
	if err := grant.Check(); err != nil {
		return Admitted{}, errCode
	}
	if err := h.take(asks.Bay, asks.Code, asks.Key, asks.Machine, asks.Program); err != nil {
		return Admitted{}, err
	}
	if err := c.Keyring().Admit(grant); err != nil {
		return Admitted{}, err
	}
	v, err := h.Kept.Version(asks.Bay, 0)
	if err != nil {
		return Admitted{}, err
	}
	a := Admitted{Studio: c.Studio, Bay: asks.Bay, Broker: brokerFrom(c, reached), Given: v.Given, Clear: c.TLS.By == studio.InClear}
	if c.Guarded(c.Broker.Listen) {
		own, err := c.Authority()
		if err != nil {
			return Admitted{}, err
		}
		a.Authority = string(own.PEM())
	}
	return a, nil
}
