package console

import (
	"context"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"fairlead/dashboards/gate"
	"fairlead/ingest/bay/desk"
)

// Enrol is how bays' PCs come to the studio and what the hub keeps of them.
type Enrol struct {
	Join    http.Handler                       // answers PCs that enrol
	Deliver func(context.Context, desk.Client) // brings bays their configurations until the context ends
	List    func() ([]EnrolledBay, error)      // bays that were added
	Invite  func(bay, by string) (EnrolLine, error)
	// Versions of a bay's configuration, the latest first.
	Versions func(bay string) ([]BayVersion, error)
	Keep     func(bay string, g desk.Given, was int, by, why string) error
	Back     func(bay string, to int, by string) error
}

// EnrolledBay is a bay on the list, in words.
type EnrolledBay struct {
	Name, Enrolled, Goes string
	Bad                  bool // it does not go by its latest configuration
}

// EnrolLine is what is typed on a bay's PC.
type EnrolLine struct {
	Bay, Text string
	Until     time.Time
	Clear     bool // the code goes over the network as it is
}

// BayVersion is a version of a bay's configuration.
type BayVersion struct {
	desk.Given
	At      time.Time
	By, Why string
	Changes []string // against the version before
}

func (s *server) enrolRoutes(mux *http.ServeMux) {
	if s.enrol == nil {
		return
	}
	mux.Handle("GET /enrol/authority", s.enrol.Join)
	mux.Handle("POST /enrol/join", s.enrol.Join)
	mux.HandleFunc("GET /enrol", func(w http.ResponseWriter, _ *http.Request) { s.showEnrol(w, http.StatusOK, nil, "") })
	mux.HandleFunc("POST /enrol", s.enrolBay)
	mux.HandleFunc("GET /enrol/bays/{bay}", func(w http.ResponseWriter, r *http.Request) {
		s.showBayConfig(w, r, http.StatusOK, nil, "")
	})
	mux.HandleFunc("POST /enrol/bays/{bay}/{act}", s.bayConfigAct)
}

func (s *server) showEnrol(w http.ResponseWriter, code int, line *EnrolLine, notice string) {
	list, err := s.enrol.List()
	if err != nil {
		s.fail(w, http.StatusInternalServerError, err)
		return
	}
	var others []string // that came by hand, or are collected on the hub
	for _, b := range s.bays {
		if !slices.ContainsFunc(list, func(l EnrolledBay) bool { return l.Name == b }) {
			others = append(others, b)
		}
	}
	s.show(w, code, "enrol.html", map[string]any{"Title": "Bay PCs", "Studio": s.studio, "List": list, "Others": others, "Line": line,
		"Notice": notice})
}

// whoAsks names who did something, for the list of versions.
func whoAsks(r *http.Request) string {
	if i := gate.From(r.Context()); i != nil {
		if i.Name != "" {
			return i.Name
		}
		return i.Person
	}
	return "the console"
}

// enrolBay makes a code and shows the line, this once.
func (s *server) enrolBay(w http.ResponseWriter, r *http.Request) {
	bay := strings.TrimSpace(r.FormValue("bay"))
	line, err := s.enrol.Invite(bay, whoAsks(r))
	if err != nil {
		s.showEnrol(w, http.StatusUnprocessableEntity, nil, err.Error())
		return
	}
	s.gate.Note(r, "made a code for a bay's PC", bay)
	s.showEnrol(w, http.StatusOK, &line, "")
}

// showBayConfig shows a bay's configuration; typed is what was typed and refused.
func (s *server) showBayConfig(w http.ResponseWriter, r *http.Request, code int, typed *desk.Given, notice string) {
	bay := r.PathValue("bay")
	versions, err := s.enrol.Versions(bay)
	if err != nil {
		s.fail(w, http.StatusInternalServerError, err)
		return
	}
	list, err := s.enrol.List()
	i := slices.IndexFunc(list, func(l EnrolledBay) bool { return l.Name == bay })
	if err != nil || i < 0 {
		s.fail(w, http.StatusNotFound, fmt.Errorf("no bay %q was added here: give it a code first", bay))
		return
	}
	now := desk.Given{}
	if len(versions) > 0 {
		now = versions[0].Given
	}
	shown := now
	if typed != nil {
		shown = *typed
	}
	type mapText struct{ Name, Text string }
	var maps []mapText
	for name, text := range shown.Maps {
		maps = append(maps, mapText{name, text})
	}
	slices.SortFunc(maps, func(a, b mapText) int { return strings.Compare(a.Name, b.Name) })
	s.show(w, code, "enrolbay.html", map[string]any{"Title": "What " + bay + " reads", "Studio": s.studio, "Bay": list[i], "Was": now.Version,
		"Text": shown.Text, "Maps": maps, "Versions": versions, "Notice": notice})
}

func (s *server) bayConfigAct(w http.ResponseWriter, r *http.Request) {
	bay := r.PathValue("bay")
	var err error
	var typed *desk.Given
	switch r.PathValue("act") {
	case "keep":
		typed = typedGiven(r)
		was, bad := strconv.Atoi(r.FormValue("was"))
		if bad != nil {
			err = fmt.Errorf("the form is not whole: open the page again")
			break
		}
		err = s.enrol.Keep(bay, *typed, was, whoAsks(r), strings.TrimSpace(r.FormValue("why")))
	case "back":
		to, bad := strconv.Atoi(r.FormValue("to"))
		if bad != nil {
			err = fmt.Errorf("the form is not whole: open the page again")
			break
		}
		err = s.enrol.Back(bay, to, whoAsks(r))
	default:
		s.fail(w, http.StatusNotFound, fmt.Errorf("a configuration is kept or taken back, not %q", r.PathValue("act")))
		return
	}
	if err != nil {
		s.showBayConfig(w, r, http.StatusUnprocessableEntity, typed, err.Error())
		return
	}
	s.gate.Note(r, "changed what a bay reads", bay)
	http.Redirect(w, r, "/enrol/bays/"+bay, http.StatusSeeOther)
}

// typedGiven is the configuration in a form: its text, maps by name, a new map.
func typedGiven(r *http.Request) *desk.Given {
	plain := func(text string) string { return strings.ReplaceAll(text, "\r\n", "\n") }
	g := &desk.Given{Text: plain(r.FormValue("text")), Maps: map[string]string{}}
	for key := range r.Form {
		if name, ok := strings.CutPrefix(key, "map."); ok && strings.TrimSpace(r.FormValue(key)) != "" {
			g.Maps[name] = plain(r.FormValue(key))
		}
	}
	if name := strings.TrimSpace(r.FormValue("new")); name != "" {
		g.Maps[name] = plain(r.FormValue("newtext"))
	}
	return g
}
