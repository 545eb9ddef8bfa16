package serve

import (
	"crypto/subtle"
	"log/slog"
	"net/http"
	"strings"
	"sync"

	"fairlead/deploy/engine"
)

// users knows whose a token is. A revoked token ends with the next statement.
type users struct {
	pipeline string // hash of the token that may do everything
	dir      string
	log      *slog.Logger

	mu   sync.Mutex
	said string // the last trouble with the folder, which is told once
}

func (u *users) of(r *http.Request) (engine.User, bool) {
	token := r.Header.Get("X-ClickHouse-Key")
	if _, password, ok := r.BasicAuth(); ok && token == "" {
		token = password
	}
	if bearer, ok := strings.CutPrefix(r.Header.Get("Authorization"), "Bearer "); ok && token == "" {
		token = bearer
	}
	if token == "" {
		return engine.User{}, false
	}
	hash := engine.Hash(token)
	same := func(a string) bool { return subtle.ConstantTimeCompare([]byte(a), []byte(hash)) == 1 }
	if same(u.pipeline) {
		return engine.User{Name: "pipeline", Purpose: engine.Pipeline}, true
	}
	for _, known := range u.list() {
		if same(known.SHA256) {
			return known, true
		}
	}
	return engine.User{}, false
}

// list reads the folder each time: it holds a handful of small files, and neither a revoked token nor one whose
// file was opened to others may live on in a memory.
func (u *users) list() []engine.User {
	if u.dir == "" {
		return nil
	}
	known, err := engine.ListUsers(u.dir)
	u.mu.Lock()
	defer u.mu.Unlock()
	text := ""
	if err != nil {
		text = err.Error()
	}
	if text != u.said && err != nil {
		u.log.Error("users of the engine that are not let in", "error", err)
	}
	u.said = text
	return known
}
