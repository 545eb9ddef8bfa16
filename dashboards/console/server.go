package console

import (
	"context"
	"embed"
	"fmt"
	"html/template"
	"log/slog"
	"net/http"
	"path/filepath"
	"sync/atomic"
	"time"

	"fairlead/dashboards/console/people"
	"fairlead/dashboards/draw"
	"fairlead/dashboards/gate"
	"fairlead/dashboards/page"
	"fairlead/dashboards/sheets"
	"fairlead/ingest/bay/desk"
	"fairlead/processors/ask/erase"
	"fairlead/processors/hub/health"
	"fairlead/processors/visit"
	"fairlead/processors/visit/rolling"
)

//go:embed assets templates
var files embed.FS

// server answers pages and the API.
type server struct {
	studio    string
	bays      []string
	writer    *Writer
	live      *states
	health    *health.Bays
	people    *people.Store
	metrics   *metrics
	units     units
	now       func() time.Time
	log       *slog.Logger
	pages     *template.Template
	counsel   *counsel
	priors    *priors
	fleet     http.Handler // pages of the fleet; nil: none
	ops       *Ops         // the studio's watch; nil: there is none
	month     month        // what bays delivered in it
	enrol     *Enrol       // nil: no bay comes by this console
	papers    http.Handler // build sheets and reports; nil: none
	printer   *sheets.Printer
	book      *orderBook
	players   *memory // what files of players are told from
	pains     pains   // what bays say of their players
	calendars *calendars
	// source compares a session's swing with that of the visit before; nil: there is no store.
	source  func(ctx context.Context, bay, visitID, session string) (*sheets.Earlier, error)
	gate    *gate.Gate    // nil: nobody is asked who they are
	desk    desk.Client   // to the bays' devices
	samples heldSamples   // that the page of devices works on
	hands   hands         // of the pages that are open
	looks   atomic.Uint64 // at a bay, counted before it is looked at: a higher number shows nothing older
	// Who is to be erased, and how long that can be taken back.
	erasures   *erase.Requests
	eraseAfter time.Duration
}

func newServer(ctx context.Context, o Options, w *Writer, live *states, bays *health.Bays, names *people.Store, m *metrics,
	now func() time.Time, log *slog.Logger) (*server, error) {
	s := &server{studio: o.Studio, bays: o.Bays, writer: w, live: live, health: bays, people: names, metrics: m, units: unitsFor(o.Imperial),
		now: now, log: log,
		counsel: newCounsel(o.Fleet), priors: newPriors(o, live, w, log), fleet: o.Pages, ops: o.Ops, enrol: o.Enrol}
	go s.counsel.run(ctx)
	s.printer = sheets.NewPrinter()
	s.papers = papers(o, s)
	s.book, s.gate, s.eraseAfter = newOrderBook(o, w, log), o.Gate, o.EraseAfter
	s.players, s.source = newMemory(o, w, log, playerKinds), sinceLast(o, s)
	var err error
	if s.erasures, err = erase.OpenRequests(filepath.Join(filepath.Dir(o.PeopleFile), "erasures.json")); err != nil {
		return nil, err
	}
	if s.calendars, err = openCalendars(filepath.Join(filepath.Dir(o.PeopleFile), "calendars.json")); err != nil {
		return nil, err
	}
	if s.gate != nil {
		s.gate.Joined = s.joined
	}
	pages, err := template.New("").Funcs(s.functions()).ParseFS(files, "templates/*.html")
	if err != nil {
		return nil, fmt.Errorf("pages: %w", err)
	}
	s.pages = pages
	return s, nil
}

// handler routes requests. Who reaches which route stands in gate.Table; a
// route that is not there reaches nobody. Requests that a browser makes on behalf
// of another site are refused where they would write.
func (s *server) handler() http.Handler {
	mux := http.NewServeMux()
	mux.HandleFunc("GET /healthz", func(w http.ResponseWriter, _ *http.Request) { fmt.Fprintln(w, "ok") })
	mux.Handle("GET /assets/draw.css", page.Cached(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Type", "text/css; charset=utf-8")
		fmt.Fprint(w, draw.Style)
	})))
	mux.Handle("GET /assets/", page.Cached(http.FileServerFS(files)))

	mux.HandleFunc("GET /api/bays", s.apiBays)
	mux.HandleFunc("GET /api/bays/{bay}/state", s.apiState)
	mux.HandleFunc("GET /api/bays/{bay}/live", s.apiLive)
	mux.HandleFunc("GET /api/bays/{bay}/events", s.apiLog)
	mux.HandleFunc("POST /api/bays/{bay}/events", s.apiWrite)
	mux.HandleFunc("GET /api/people", s.apiPeople)
	mux.HandleFunc("POST /api/people", s.apiPutPerson)
	mux.HandleFunc("DELETE /api/people/{id}", s.apiErasePerson)
	mux.HandleFunc("GET /api/erasures", s.apiErasures)
	mux.HandleFunc("POST /api/erasures", s.apiAskErasure)
	mux.HandleFunc("DELETE /api/erasures/{player}", s.apiKeepPerson)
	mux.HandleFunc("POST /api/erasures/{player}/done", s.apiErased)

	mux.HandleFunc("GET /{$}", s.overview)
	mux.HandleFunc("GET /overview/live", s.overviewLive)
	mux.HandleFunc("GET /bays/{bay}", s.bayPage)
	mux.HandleFunc("GET /bays/{bay}/live", s.bayLive)
	mux.HandleFunc("GET /bays/{bay}/wall", s.wallPage)
	mux.HandleFunc("GET /bays/{bay}/wall/live", s.wallLive)
	mux.HandleFunc("POST /bays/{bay}/{act}", s.act)
	mux.HandleFunc("GET /people", s.peoplePage)
	mux.HandleFunc("POST /people", s.putPerson)
	mux.HandleFunc("POST /people/{id}/erase", s.erasePerson)
	mux.HandleFunc("POST /people/{id}/keep", s.keepPersonPage)
	if s.ops != nil {
		mux.HandleFunc("GET /ops", s.opsPage)
		mux.HandleFunc("GET /ops/live", s.opsLive)
		mux.HandleFunc("GET /ops/bays/{bay}", s.opsDayPage)
		mux.HandleFunc("POST /ops/test", s.opsTest)
		mux.HandleFunc("GET /targets", s.opsTargets)
	}
	mux.Handle("/orders/", s.orderPages())
	s.playerRoutes(mux)
	s.dueRoutes(mux)
	s.stockRoutes(mux)
	s.morningRoutes(mux)
	s.benchRoutes(mux)
	s.feedRoutes(mux)
	s.enrolRoutes(mux)
	if s.fleet != nil {
		mux.Handle("/fleet/", s.fleet)
	}
	if s.papers != nil {
		mux.Handle("/sheets/", s.papers)
		mux.Handle("/reports/", s.papers)
	}
	bounds := newLimits(func(why string) { s.metrics.refused.WithLabelValues(why).Inc() })
	return page.Secured(bounds.handler(page.Compressed(s.gate.Handler(mux))))
}

// stateOf is the newest state of a bay, and whether the hub gave it lately.
// Before the hub has said anything, it is what the console's own events say.
func (s *server) stateOf(bay string) (state *rolling.State, fresh bool) {
	l := s.live.get(bay)
	if l.state != nil {
		return l.state, s.now().Sub(l.heard) < silentHub
	}
	own := rolling.Build(s.ownSnapshot(bay))
	return &own, false
}

// ownSnapshot is what the console knows of a bay by itself: no shots.
func (s *server) ownSnapshot(bay string) rolling.Snapshot {
	tl := s.writer.Timeline(bay)
	snapshot := rolling.Snapshot{Studio: s.studio, Bay: bay, Timeline: tl, At: s.now().UnixNano()}
	if last := tl.Latest(visit.Never, (*visit.Session).Shown); last != nil {
		snapshot.Session = last.ID
	}
	return snapshot
}
