package console

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"strings"

	"fairlead/ingest/contract/event"
	"fairlead/processors/visit"
	"fairlead/processors/visit/rolling"
	"fairlead/processors/visit/stock"
)

// stockRoutes serve the studio's catalogue and shelf.
func (s *server) stockRoutes(mux *http.ServeMux) {
	mux.HandleFunc("GET /stock", s.stockPage)
	mux.HandleFunc("GET /stock.csv", s.stockCSV)
	mux.HandleFunc("POST /stock/import", s.stockImport)
	mux.HandleFunc("POST /stock/{act}", s.stockAct)
	mux.HandleFunc("GET /api/stock", s.apiStock)
	mux.HandleFunc("POST /api/stock", s.apiStockImport)
	mux.HandleFunc("POST /api/stock/undo", s.apiStockUndo)
}

// shelf is the studio's catalogue and shelf as it is now.
func (s *server) shelf(ctx context.Context) *stock.Shelf { return s.book.stock(ctx) }

// stockView is the page of the catalogue.
type stockView struct {
	Kinds   []stockKind
	Out     []stockPart // what runs out
	Tests   []testClub
	Codes   []codeName
	Bays    []string
	Cats    []string
	Key     string
	Act     string
	Problem problem
	Typed   url.Values
	Change  *stock.Change
	Done    string
	Undo    *undoView
}

// Part is what was typed into a test club's field of parts: head, shaft, grip, adapter.
func (v stockView) Part(n int) string {
	if typed := v.Typed["part"]; v.Act == "testclub" && n < len(typed) {
		return typed[n]
	}
	return ""
}

type codeName struct{ Code, Name string }

type stockKind struct {
	Kind  string
	Parts []stockPart
}

type stockPart struct {
	Code, Name, For, Price, Bend string
	Figures                      []string
	On, Free                     string
	Held, Least                  int64
	Short                        bool
	Need                         string // how many have to come
}

type testClub struct {
	ID, Club, Where, Known string
	Reference              bool
}

func (s *server) stockPage(w http.ResponseWriter, r *http.Request) {
	s.showStock(w, http.StatusOK, r, stockView{Done: map[string]string{"import": "The list is taken", "stock": "Written down",
		"testclub": "Written down", "part": "Written down", "undo": "Taken back"}[r.FormValue("done")]})
}

func (s *server) showStock(w http.ResponseWriter, code int, r *http.Request, v stockView) {
	shelf := s.shelf(r.Context())
	v.Key, v.Bays, v.Undo = event.NewID(s.now()), s.bays, s.offered(ofShelf)
	for _, k := range stock.Kinds() {
		kind := stockKind{Kind: stock.KindWord(k)}
		for _, p := range shelf.Parts() {
			if p.GetKind() == k {
				kind.Parts = append(kind.Parts, s.stockPart(shelf, p))
			}
		}
		if len(kind.Parts) > 0 {
			v.Kinds = append(v.Kinds, kind)
		}
	}
	for _, p := range shelf.Parts() {
		v.Codes = append(v.Codes, codeName{p.GetCode(), stock.Name(p)})
	}
	for _, p := range shelf.RunsOut() {
		v.Out = append(v.Out, s.stockPart(shelf, p))
	}
	for _, t := range shelf.TestClubs() {
		v.Tests = append(v.Tests, s.testClub(shelf, t))
	}
	s.show(w, code, "stock.html", map[string]any{"Title": "Stock", "Studio": s.studio, "V": v})
}

func (s *server) stockPart(shelf *stock.Shelf, p *event.CataloguePart) stockPart {
	l := shelf.Level(p.GetCode())
	v := stockPart{Code: p.GetCode(), Name: stock.Name(p), For: strings.TrimSpace(p.GetCategory() + " " + p.GetClub()),
		Price: stock.Price(p.GetPrice(), p.GetCurrency()), Held: l.Held, Least: l.Least, Short: l.Short(), On: "not counted", Free: "–"}
	if v.For == "" {
		v.For = "any club"
	}
	if l.Known {
		v.On, v.Free = fmt.Sprint(l.On), fmt.Sprint(l.Free())
	}
	if need := max(l.Least, 0) - l.Free(); l.Short() && need > 0 {
		v.Need = fmt.Sprint(need)
	}
	if p.GetBendLimitDeg() > 0 {
		v.Bend = fmt.Sprintf("± %g°", p.GetBendLimitDeg())
	}
	if p.GetMetal() != "" {
		v.Bend = strings.TrimSpace(v.Bend + " " + p.GetMetal())
	}
	off := map[event.BuildField]float64{}
	for _, t := range p.GetTolerances() {
		off[t.GetField()] = t.GetOff()
	}
	for _, spec := range p.GetSpecs() {
		info, _ := spec.Field.Info()
		if spec.Field == stock.Model(p.GetKind()) || spec.Field == event.BuildField_BUILD_STATED_LOFT && off[spec.Field] == 0 ||
			spec.Field == event.BuildField_BUILD_FLEX {
			continue // its name says it
		}
		text := strings.ToLower(info.Label) + " " + s.units.value(info.Name, rolling.Value{Known: true, Number: spec.Number, Text: spec.Text})
		if o := off[spec.Field]; o > 0 {
			text += " ± " + s.units.spec(info.Quantity).Short(o)
		}
		v.Figures = append(v.Figures, text)
	}
	return v
}

func (s *server) testClub(shelf *stock.Shelf, t *event.TestClubPlaced) testClub {
	v := testClub{ID: t.GetClubId(), Club: strings.TrimSpace(t.GetCategory() + " " + t.GetClub()), Where: nonEmpty(t.GetBay(), "workshop"),
		Reference: t.GetReference()}
	var known []string
	for _, spec := range shelf.BuildOf(t).Specs {
		info, _ := spec.Field.Info()
		if info.Text || spec.Field == event.BuildField_BUILD_LENGTH || spec.Field == event.BuildField_BUILD_STATED_LOFT {
			known = append(known, s.units.value(info.Name, rolling.Value{Known: true, Number: spec.Number, Text: spec.Text}))
		}
	}
	v.Known = strings.Join(known, ", ")
	return v
}

// shelfBay is the bay in whose log facts of the studio stand that name none.
func (s *server) shelfBay() string { return s.bays[0] }

// stockAct writes what was said of the shelf.
func (s *server) stockAct(w http.ResponseWriter, r *http.Request) {
	r.Body = http.MaxBytesReader(w, r.Body, mostBody)
	act := r.PathValue("act")
	if err := r.ParseForm(); err != nil || act != "stock" && act != "testclub" && act != "part" && act != "undo" {
		s.fail(w, http.StatusBadRequest, fmt.Errorf("this form can't be read: open the page again"))
		return
	}
	if act == "undo" {
		if err := s.takenBack(r, ofShelf); err != nil {
			code, p := s.problemOf(err)
			s.showStock(w, code, r, stockView{Problem: p, Act: act})
			return
		}
		http.Redirect(w, r, "/stock?done=undo", http.StatusSeeOther)
		return
	}
	at := s.orderPlace(s.shelfBay())
	at.Shelf = s.shelf(r.Context())
	ev, faults := visit.Read(act, visit.Input(r.PostForm), at)
	ev.Id, ev.Who = keyOf(act, r.PostForm), r.PostForm.Get("who")
	if len(faults) == 0 {
		if f := at.Fits(ev); f != nil {
			faults = append(faults, f)
		}
	}
	var err error
	if len(faults) > 0 {
		err = &Refused{faults}
	} else {
		_, err = s.write(r, s.shelfBay(), ev, anyhow)
	}
	if err != nil {
		code, p := s.problemOf(err)
		s.showStock(w, code, r, stockView{Problem: p, Act: act, Typed: r.PostForm})
		return
	}
	http.Redirect(w, r, "/stock?done="+act, http.StatusSeeOther)
}

func (s *server) stockCSV(w http.ResponseWriter, r *http.Request) {
	w.Header().Set("Content-Type", "text/csv; charset=utf-8")
	w.Header().Set("Content-Disposition", `attachment; filename="catalogue.csv"`)
	if err := s.shelf(r.Context()).WriteList(w); err != nil {
		s.log.Debug("a list was broken off by who asked for it", "error", err)
	}
}

// apiStockUndo takes back what was said of the shelf last, or the event that is named;
// it answers with what that was.
func (s *server) apiStockUndo(w http.ResponseWriter, r *http.Request) {
	r.Body = http.MaxBytesReader(w, r.Body, mostBody)
	if err := r.ParseForm(); err != nil {
		writeJSON(w, http.StatusBadRequest, problem{Error: "this form can't be read"})
		return
	}
	last := s.lastUnlessNamed(r, ofShelf)
	id, said := r.PostForm.Get("event"), ""
	if id == "" {
		writeJSON(w, http.StatusNotFound, problem{Error: "nothing of the last weeks can be taken back"})
		return
	}
	if last != nil && last.Event == id {
		said = last.Text
	}
	if err := s.takenBack(r, ofShelf); err != nil {
		code, p := s.problemOf(err)
		writeJSON(w, code, p)
		return
	}
	writeJSON(w, http.StatusOK, map[string]string{"event": id, "taken_back": said})
}
