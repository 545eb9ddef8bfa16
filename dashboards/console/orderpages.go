package console

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"fairlead/ingest/contract/event"
	bench "fairlead/processors/golf/club/order"
	"fairlead/processors/visit"
)

// orderPages serve the board, orders and what makes one, below /orders/.
func (s *server) orderPages() http.Handler {
	mux := http.NewServeMux()
	mux.HandleFunc("GET /orders/{$}", s.board)
	mux.HandleFunc("GET /orders/live", s.boardLive)
	mux.HandleFunc("GET /orders/mirror", s.mirrorPage)
	mux.HandleFunc("GET /orders/mirror.csv", s.mirrorCSV)
	mux.HandleFunc("GET /orders/new", s.newOrder)
	mux.HandleFunc("POST /orders/new", s.placeOrder)
	mux.HandleFunc("GET /orders/{number}", s.orderPage)
	mux.HandleFunc("GET /orders/{number}/paper", s.orderPaper)
	mux.HandleFunc("GET /orders/{number}/paper.pdf", s.orderPDF)
	mux.HandleFunc("GET /orders/{number}/paper.txt", s.orderText)
	mux.HandleFunc("GET /orders/{number}/paper.json", s.orderJSON)
	mux.HandleFunc("POST /orders/{number}/{act}", s.orderAct)
	return mux
}

// newOrder shows an order before it is placed; every field of the form may be
// in the address.
func (s *server) newOrder(w http.ResponseWriter, r *http.Request) {
	r.ParseForm()
	s.showDraft(w, http.StatusOK, r, nil)
}

// bayOf is the bay in which an order's verdict stands.
func (s *server) bayOf(in url.Values) string {
	for _, bay := range s.bays {
		for _, session := range s.writer.Timeline(bay).Sessions {
			if session.MovedTo == "" && slices.ContainsFunc(session.Verdicts, func(v visit.Verdict) bool { return v.Event == in.Get("verdict") }) {
				return bay
			}
		}
	}
	return ""
}

func (s *server) orderPlace(bay string) *visit.Place {
	at := s.writer.Place(bay)
	at.Prefer = func(info event.BuildFieldInfo) string { return s.units.spec(info.Quantity).Name }
	at.Shelf = s.shelf(context.Background())
	return at
}

func (s *server) showDraft(w http.ResponseWriter, code int, r *http.Request, refused error) {
	bay := s.bayOf(r.Form)
	if bay == "" {
		s.fail(w, http.StatusNotFound, fmt.Errorf("no verdict %q of the last weeks stands in any bay: open the order from the build sheet of a "+
			"verdict", r.Form.Get("verdict")))
		return
	}
	d, faults := visit.DraftOrder(visit.Input(r.Form), s.orderPlace(bay))
	v := s.draftView(d, faults, r.Form)
	v.Bay, v.Key = bay, event.NewID(s.now())
	if refused != nil {
		_, v.Problem = s.problemOf(refused)
	}
	s.show(w, code, "ordernew.html", map[string]any{"Title": "New order", "Studio": s.studio, "V": v})
}

// placeOrder writes the order down, or shows it again with what is wrong.
func (s *server) placeOrder(w http.ResponseWriter, r *http.Request) {
	r.Body = http.MaxBytesReader(w, r.Body, mostBody)
	if err := r.ParseForm(); err != nil {
		s.fail(w, http.StatusBadRequest, fmt.Errorf("the form can't be read: %w", err))
		return
	}
	bay := s.bayOf(r.Form)
	if bay == "" || r.Form.Get("look") != "" {
		s.showDraft(w, http.StatusOK, r, nil)
		return
	}
	ev, faults := visit.Read("order", visit.Input(r.Form), s.orderPlace(bay))
	ev.Id, ev.Who = keyOf("order", r.PostForm), whoOf(r, s.writer.Place(bay))
	if ev.Id == "" {
		ev.Id = event.NewID(s.now())
	}
	var err error
	if len(faults) > 0 {
		err = &Refused{faults}
	} else {
		s.number(r, ev)
		_, err = s.write(r, bay, ev, anyhow)
	}
	if err != nil {
		code, _ := s.problemOf(err)
		s.showDraft(w, code, r, err)
		return
	}
	for _, o := range s.book.all(r.Context()) {
		if o.Event == ev.Id {
			http.Redirect(w, r, "/orders/"+o.Number(), http.StatusSeeOther)
			return
		}
	}
	http.Redirect(w, r, "/orders/", http.StatusSeeOther)
}

// number gives an order one that none of the whole book has.
func (s *server) number(r *http.Request, ev *event.VisitEvent) {
	for again := 0; ; again++ {
		number := bench.NumberFrom(ev.Id, again)
		if o, _ := s.book.find(r.Context(), number); o == nil || o.Event == ev.Id {
			ev.GetOrderPlaced().Order = number
			return
		}
	}
}

// found is the order that an address names; it answers where there is none.
func (s *server) found(w http.ResponseWriter, r *http.Request) (*visit.Order, string) {
	number, err := bench.ParseNumber(r.PathValue("number"))
	if err != nil {
		s.failTo(w, r, http.StatusNotFound, err)
		return nil, ""
	}
	o, bay := s.book.find(r.Context(), number)
	if o == nil {
		s.failTo(w, r, http.StatusNotFound, fmt.Errorf("no order %s is known: it was taken back, its player was forgotten, "+
			"or the store is away: "+
			"look at the board", bench.Label(number)))
	}
	return o, bay
}

func (s *server) orderPage(w http.ResponseWriter, r *http.Request) {
	if o, bay := s.found(w, r); o != nil {
		s.showOrder(w, http.StatusOK, o, bay, problem{}, r)
	}
}

func (s *server) showOrder(w http.ResponseWriter, code int, o *visit.Order, bay string, p problem, r *http.Request) {
	v := s.orderView(o, bay, r)
	v.Problem, v.Key, v.Typed = p, event.NewID(s.now()), r.PostForm
	s.show(w, code, "order.html", map[string]any{"Title": "Order " + v.Label, "Studio": s.studio, "V": v, "Fitters": s.fitters()})
}

func (s *server) orderPaper(w http.ResponseWriter, r *http.Request) {
	if o, bay := s.found(w, r); o != nil {
		s.show(w, http.StatusOK, "orderpaper.html",
			map[string]any{"Title": "Order " + bench.Label(o.Number()), "Studio": s.studio, "V": s.orderView(o, bay, r)})
	}
}

// orderAct moves an order or says what was built of it.
func (s *server) orderAct(w http.ResponseWriter, r *http.Request) {
	o, bay := s.found(w, r)
	if o == nil {
		return
	}
	r.Body = http.MaxBytesReader(w, r.Body, mostBody)
	act := r.PathValue("act")
	if err := r.ParseForm(); err != nil || act != "shop" && act != "built" && act != "account" && act != "undo" {
		s.fail(w, http.StatusBadRequest, fmt.Errorf("this form can't be read: open the order again"))
		return
	}
	if act == "undo" {
		if err := s.takenBack(r, ofOrder(o.Number())); err != nil {
			code, p := s.problemOf(err)
			s.showOrder(w, code, o, bay, p, r)
			return
		}
		to := "/orders/" + o.Number()
		if left, _ := s.book.find(r.Context(), o.Number()); left == nil {
			to = "/orders/" // it was placed by mistake
		}
		http.Redirect(w, r, to, http.StatusSeeOther)
		return
	}
	r.PostForm.Set("state", strings.ReplaceAll(r.PostForm.Get("state"), " ", "-"))
	r.PostForm.Set("order", o.Number())
	r.PostForm.Set("session", o.Session.ID)
	ev, faults := visit.Read(act, visit.Input(r.PostForm), s.orderPlace(bay))
	ev.Session, ev.Visit = o.Session.ID, o.Session.Visit
	ev.Id, ev.Who = keyOf(act, r.PostForm), r.PostForm.Get("who")
	now := s.now().UnixNano()
	if m := ev.GetOrderMoved(); m != nil && len(faults) == 0 {
		if f := o.MayMove(m, now); f != nil {
			faults = append(faults, f)
		}
	}
	if b := ev.GetClubBuilt(); b != nil && len(faults) == 0 {
		if f := o.MayPass(b); f != nil {
			faults = append(faults, f)
		}
	}
	var err error
	if len(faults) > 0 {
		err = &Refused{faults}
	} else {
		_, err = s.write(r, bay, ev, anyhow)
	}
	if err != nil {
		code, p := s.problemOf(err)
		s.showOrder(w, code, o, bay, p, r)
		return
	}
	back := "/orders/" + o.Number()
	switch {
	case r.PostForm.Get("back") == "board":
		back = "/orders/"
	case act == "built": // the bench goes on from the club in hand, not from the top
		back += "#club-" + ev.GetClubBuilt().GetClub()
	case act == "account":
		back += "#marks"
	}
	http.Redirect(w, r, back, http.StatusSeeOther)
}

func (s *server) board(w http.ResponseWriter, r *http.Request) {
	s.show(w, http.StatusOK, "orders.html", map[string]any{"Title": "Orders", "Studio": s.studio, "V": s.boardView(r),
		"Find": r.FormValue("find")})
}

// boardLive sends the board when something on it changed, a clock that ran out
// included.
func (s *server) boardLive(w http.ResponseWriter, r *http.Request) {
	s.lookLive(w, r, "board", func() any { return s.boardView(r) })
}
