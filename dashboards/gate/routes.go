package gate

import (
	"net/http"
	"slices"
)

// Route is one route of the console's address and who reaches it.
type Route struct {
	Pattern string // as http.ServeMux reads it
	Who     []Role
	Public  bool // everybody, signed in or not: it tells nothing
	// Names marks what shows or changes people's names: the trail says who did.
	Names bool
	// Takes marks what gives out a file to take along: the trail says who did.
	Takes bool
	// Password marks what a PIN is too short for.
	Password bool
}

var (
	bay     = []Role{Fitter, Manager}
	picture = []Role{Guest, Fitter, Workshop, Analyst, Manager, Ops}
	shop    = []Role{Workshop, Fitter, Manager}
	fleet   = []Role{Analyst, Fitter, Manager}
	running = []Role{Ops, Manager}
	devices = []Role{Fitter, Ops, Manager}
	manager = []Role{Manager}
)

// Table names every route, and who reaches it. A route that is not here reaches
// nobody; a test holds the table against the sources of all rooms that serve one.
var Table = []Route{
	{Pattern: "GET /healthz", Public: true},
	{Pattern: "GET /assets/draw.css", Public: true},
	{Pattern: "GET /assets/", Public: true},
	{Pattern: "GET /fleet/assets/", Public: true},
	{Pattern: "GET /sheets/assets/", Public: true},

	// What a bay shows, and what is entered there.
	{Pattern: "GET /{$}", Who: bay, Names: true},
	{Pattern: "GET /overview/live", Who: bay},
	{Pattern: "GET /bays/{bay}", Who: bay, Names: true},
	{Pattern: "GET /bays/{bay}/live", Who: bay},
	{Pattern: "GET /bays/{bay}/wall", Who: picture},
	{Pattern: "GET /bays/{bay}/wall/live", Who: picture},
	{Pattern: "POST /bays/{bay}/{act}", Who: bay},

	// The same for programs.
	{Pattern: "GET /api/bays", Who: fleet},
	{Pattern: "GET /api/bays/{bay}/state", Who: bay},
	{Pattern: "GET /api/bays/{bay}/live", Who: bay},
	{Pattern: "GET /api/bays/{bay}/events", Who: bay, Names: true},
	{Pattern: "POST /api/bays/{bay}/events", Who: bay},
	{Pattern: "GET /api/people", Who: bay, Names: true},
	{Pattern: "POST /api/people", Who: bay, Names: true},
	{Pattern: "DELETE /api/people/{id}", Who: manager, Names: true, Password: true},
	{Pattern: "GET /api/erasures", Who: manager},
	{Pattern: "POST /api/erasures", Who: manager, Password: true},
	{Pattern: "DELETE /api/erasures/{player}", Who: manager, Password: true},
	{Pattern: "POST /api/erasures/{player}/done", Who: manager, Password: true},

	// Names.
	{Pattern: "GET /people", Who: bay, Names: true},
	{Pattern: "POST /people", Who: bay, Names: true},
	{Pattern: "POST /people/{id}/erase", Who: manager, Names: true, Password: true},
	{Pattern: "POST /people/{id}/keep", Who: manager, Names: true, Password: true},

	// Files of players: what is known of a body and a bag is for who fits them.
	{Pattern: "GET /players", Who: bay, Names: true},
	{Pattern: "GET /players/{id}", Who: bay, Names: true},
	{Pattern: "GET /players/{id}/bag", Who: bay, Names: true},
	{Pattern: "GET /players/{id}/gaps", Who: bay, Names: true},
	{Pattern: "GET /players/{id}/swing", Who: bay},
	{Pattern: "POST /players/{id}/{act}", Who: bay, Names: true},
	{Pattern: "GET /players/due", Who: bay, Names: true},
	{Pattern: "GET /players/due.csv", Who: bay, Names: true, Takes: true},
	{Pattern: "POST /players/calendar/make", Who: bay, Names: true},
	{Pattern: "POST /players/calendar/{calendar}/revoke", Who: bay, Names: true},
	// For calendars, which can't sign in: the address is the secret, and its handler
	// answers nobody without it.
	{Pattern: "GET /calendar/{token}", Public: true},

	// Whether everything runs.
	{Pattern: "GET /ops", Who: running},
	{Pattern: "GET /ops/live", Who: running},
	{Pattern: "GET /ops/bays/{bay}", Who: running},
	{Pattern: "POST /ops/test", Who: running},
	{Pattern: "GET /targets", Who: running},

	// Bays' PCs that enrol, and what the hub keeps of them. A one-time code is the
	// secret of the first two; their handler answers nobody without it.
	{Pattern: "GET /enrol/authority", Public: true},
	{Pattern: "POST /enrol/join", Public: true},
	{Pattern: "GET /enrol", Who: running},
	{Pattern: "POST /enrol", Who: manager, Password: true},
	{Pattern: "GET /enrol/bays/{bay}", Who: running},
	{Pattern: "POST /enrol/bays/{bay}/{act}", Who: running, Password: true},

	// What devices write, and the maps by which it is read.
	{Pattern: "GET /feeds", Who: devices},
	{Pattern: "GET /feeds/{bay}", Who: devices},
	{Pattern: "GET /feeds/{bay}/live", Who: devices},
	{Pattern: "POST /feeds/{bay}/sample", Who: devices},
	{Pattern: "POST /feeds/{bay}/draft", Who: devices},
	{Pattern: "POST /feeds/{bay}/read", Who: devices},
	{Pattern: "POST /feeds/{bay}/beside", Who: devices},
	{Pattern: "POST /feeds/{bay}/work", Who: running, Password: true},

	// Orders and papers.
	{Pattern: "GET /orders/{$}", Who: shop, Names: true},
	{Pattern: "GET /orders/live", Who: shop},
	{Pattern: "GET /orders/mirror", Who: bay, Names: true},
	{Pattern: "GET /orders/mirror.csv", Who: bay, Names: true},
	{Pattern: "GET /orders/new", Who: bay, Names: true},
	{Pattern: "POST /orders/new", Who: bay},
	{Pattern: "GET /orders/{number}", Who: shop, Names: true},
	{Pattern: "GET /orders/{number}/paper", Who: shop, Names: true},
	{Pattern: "GET /orders/{number}/paper.pdf", Who: shop, Names: true, Takes: true},
	{Pattern: "GET /orders/{number}/paper.txt", Who: shop, Names: true, Takes: true},
	{Pattern: "GET /orders/{number}/paper.json", Who: shop, Names: true, Takes: true},
	{Pattern: "POST /orders/{number}/{act}", Who: shop},
	{Pattern: "GET /bench", Who: shop},
	{Pattern: "GET /bench/{tool}", Who: shop},
	{Pattern: "GET /morning", Who: bay},
	{Pattern: "POST /morning/{bay}/{act}", Who: bay},
	{Pattern: "GET /api/morning", Who: fleet},
	{Pattern: "POST /api/morning/{bay}/{act}", Who: bay},
	{Pattern: "GET /stock", Who: shop},
	{Pattern: "GET /stock.csv", Who: shop},
	{Pattern: "POST /stock/import", Who: shop},
	{Pattern: "POST /stock/{act}", Who: shop},
	{Pattern: "GET /api/stock", Who: shop},
	{Pattern: "POST /api/stock/undo", Who: shop},
	{Pattern: "POST /api/stock", Who: shop},
	{Pattern: "GET /sheets/{$}", Who: bay, Names: true},
	{Pattern: "GET /sheets/{verdict}", Who: shop, Names: true},
	{Pattern: "GET /reports/{visit}", Who: bay, Names: true},

	// The fleet, by pseudonym.
	{Pattern: "GET /fleet/{$}", Who: fleet},
	{Pattern: "GET /fleet/kept", Who: fleet},
	{Pattern: "GET /fleet/priors", Who: fleet},
	{Pattern: "GET /fleet/robustness", Who: fleet},
	{Pattern: "GET /fleet/methods", Who: fleet},
	{Pattern: "GET /fleet/questions", Who: fleet},
	{Pattern: "POST /fleet/freeze", Who: fleet},
	{Pattern: "POST /fleet/refit", Who: fleet},
	{Pattern: "GET /fleet/questions/{kind}", Who: fleet},
	{Pattern: "GET /fleet/answers/{file}", Who: fleet, Takes: true},
	{Pattern: "GET /fleet/behind", Who: fleet},
	{Pattern: "GET /fleet/trial", Who: fleet},
	{Pattern: "GET /fleet/compare", Who: fleet},
	{Pattern: "GET /fleet/promises", Who: fleet},
	{Pattern: "POST /fleet/ask", Who: fleet},
	{Pattern: "GET /fleet/jobs/{id}", Who: fleet},
	{Pattern: "GET /fleet/jobs/{id}/events", Who: fleet},

	// The gate's own pages.
	{Pattern: "GET /gate/assets/", Public: true},
	{Pattern: "GET /gate/in", Public: true},
	{Pattern: "POST /gate/in", Public: true},
	{Pattern: "POST /gate/pin", Public: true},
	{Pattern: "GET /gate/provider", Public: true},
	{Pattern: "GET /gate/provider/back", Public: true},
	{Pattern: "GET /gate/first", Public: true},
	{Pattern: "POST /gate/first", Public: true},
	{Pattern: "GET /gate/join", Public: true},
	{Pattern: "POST /gate/join", Public: true},
	{Pattern: "GET /gate/pair", Public: true},
	{Pattern: "POST /gate/pair", Public: true},
	{Pattern: "GET /gate/still", Who: picture},
	{Pattern: "GET /gate/home", Who: picture},
	{Pattern: "POST /gate/out", Who: picture},
	{Pattern: "GET /gate/me", Who: picture},
	{Pattern: "POST /gate/me", Who: picture, Password: true},
	{Pattern: "POST /gate/me/sessions/{session}/end", Who: picture},
	{Pattern: "GET /gate/people", Who: manager, Names: true, Password: true},
	{Pattern: "POST /gate/people", Who: manager, Names: true, Password: true},
	{Pattern: "POST /gate/people/{id}/{act}", Who: manager, Names: true, Password: true},
	{Pattern: "GET /gate/devices", Who: manager, Password: true},
	{Pattern: "POST /gate/devices", Who: manager, Password: true},
	{Pattern: "POST /gate/devices/{id}/revoke", Who: manager, Password: true},
	{Pattern: "GET /gate/trail", Who: manager, Names: true, Password: true},
}

// allows says whether one of the roles reaches the route.
func (t Route) allows(roles []Role) bool {
	return t.Public || slices.ContainsFunc(t.Who, func(r Role) bool { return slices.Contains(roles, r) })
}

// ServeHTTP makes a Route something that a mux finds; it never serves.
func (t Route) ServeHTTP(http.ResponseWriter, *http.Request) {}

// tableMux finds the route of a request as the console's own mux will.
func tableMux() *http.ServeMux {
	mux := http.NewServeMux()
	for _, t := range Table {
		mux.Handle(t.Pattern, t)
	}
	return mux
}

// Known says that some role reaches the route of a request.
func Known(r *http.Request) bool {
	_, pattern := tableMux().Handler(r)
	return pattern != ""
}
