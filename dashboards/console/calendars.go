package console

import (
	"crypto/rand"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/hex"
	"errors"
	"fmt"
	"net/http"
	"strings"
	"sync"
	"time"

	"fairlead/dashboards/gate"
	"fairlead/ingest/log/durable"
)

// calendar is an address under which what is due can be read without signing in:
// calendars of phones can't. It is a secret, and can be taken back.
type calendar struct {
	ID    string    `json:"id"`
	Sum   string    `json:"sum"` // of the address's secret, which is kept nowhere
	Made  time.Time `json:"made"`
	By    string    `json:"by,omitempty"`
	Names bool      `json:"names"` // else players stand there by pseudonym
}

// calendars are the addresses that were given out. They may be used concurrently.
type calendars struct {
	file string
	mu   sync.Mutex
	all  []calendar
}

func openCalendars(file string) (*calendars, error) {
	all, err := durable.ReadJSON[[]calendar](file)
	if err != nil {
		return nil, fmt.Errorf("calendars: %w: move the file away, and give out new addresses", err)
	}
	return &calendars{file: file, all: all}, nil
}

func (c *calendars) list() []calendar {
	c.mu.Lock()
	defer c.mu.Unlock()
	return append([]calendar{}, c.all...)
}

// change writes the list down; what can't be written is not so.
func (c *calendars) change(how func([]calendar) []calendar) error {
	c.mu.Lock()
	defer c.mu.Unlock()
	next := how(append([]calendar{}, c.all...))
	if err := durable.WriteJSON(c.file, next); err != nil {
		return fmt.Errorf("calendars: %w", err)
	}
	c.all = next
	return nil
}

func sumOf(secret string) string {
	sum := sha256.Sum256([]byte(secret))
	return hex.EncodeToString(sum[:])
}

// of is the calendar that a secret opens.
func (c *calendars) of(secret string) (found calendar, ok bool) {
	sum := sumOf(secret)
	for _, one := range c.list() {
		if subtle.ConstantTimeCompare([]byte(one.Sum), []byte(sum)) == 1 {
			found, ok = one, true
		}
	}
	return found, ok
}

// mayName says whether who asks may give names to a calendar: a manager, or
// anybody where nobody is asked who they are.
func mayName(r *http.Request) bool {
	i := gate.From(r.Context())
	return i == nil || i.Has(gate.Manager)
}

// mayFit says whether who asks may open a session.
func mayFit(r *http.Request) bool {
	i := gate.From(r.Context())
	return i == nil || i.Has(gate.Fitter) || i.Has(gate.Manager)
}

// mostCalendars bounds the addresses that are open at once.
const mostCalendars = 50

func (s *server) makeCalendar(w http.ResponseWriter, r *http.Request) {
	names := r.FormValue("names") != ""
	if names && !mayName(r) {
		s.fail(w, http.StatusForbidden, errors.New("a calendar with names is a manager’s to give out: make one without"))
		return
	}
	secret := rand.Text()
	by := ""
	if i := gate.From(r.Context()); i != nil {
		by = i.Person
	}
	full := false
	err := s.calendars.change(func(all []calendar) []calendar {
		if full = len(all) >= mostCalendars; full {
			return all
		}
		return append(all, calendar{ID: strings.ToLower(secret[:6]), Sum: sumOf(secret), Made: s.now().UTC(), By: by, Names: names})
	})
	if full {
		err = fmt.Errorf("%d calendars are given out: take some back first", mostCalendars)
	}
	if err != nil {
		s.fail(w, http.StatusServiceUnavailable, err)
		return
	}
	scheme := "http://"
	if r.TLS != nil {
		scheme = "https://"
	}
	s.showDue(w, r, scheme+r.Host+"/calendar/"+secret+".ics")
}

func (s *server) revokeCalendar(w http.ResponseWriter, r *http.Request) {
	err := s.calendars.change(func(all []calendar) (kept []calendar) {
		for _, c := range all {
			if c.ID != r.PathValue("calendar") {
				kept = append(kept, c)
			}
		}
		return kept
	})
	if err != nil {
		s.fail(w, http.StatusServiceUnavailable, err)
		return
	}
	http.Redirect(w, r, "/players/due", http.StatusSeeOther)
}

// calendarFeed answers whoever has the secret, and nobody else: an address that
// was taken back is as if it never was.
func (s *server) calendarFeed(w http.ResponseWriter, r *http.Request) {
	c, ok := s.calendars.of(strings.TrimSuffix(r.PathValue("token"), ".ics"))
	if !ok {
		http.NotFound(w, r)
		return
	}
	w.Header().Set("Content-Type", "text/calendar; charset=utf-8")
	w.Header().Set("Cache-Control", "private, no-store")
	fmt.Fprint(w, s.calendarText(s.dueAll(r.Context(), s.now().Add(400*24*time.Hour), ""), c.Names))
}
