package console

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"strings"

	"google.golang.org/protobuf/proto"

	"fairlead/dashboards/console/people"
	"fairlead/dashboards/sheets"
	"fairlead/ingest/contract/event"
	"fairlead/processors/visit"
)

// playerKinds are what a player's file is told from.
var playerKinds = []string{"session_opened", "session_closed", "turn_taken", "session_corrected", "session_erased", "trial_started",
	"build_amended", "verdict_given", "hit_checked", "order_placed",
	"order_moved", "club_built", "player_noted", "player_measured", "bag_measured", "voided"}

// playerRoutes serve the files of players.
func (s *server) playerRoutes(mux *http.ServeMux) {
	mux.HandleFunc("GET /players", s.playersPage)
	mux.HandleFunc("GET /players/{id}", s.playerPage)
	mux.HandleFunc("GET /players/{id}/bag", s.bagPage)
	mux.HandleFunc("GET /players/{id}/gaps", s.gapPage)
	mux.HandleFunc("GET /players/{id}/swing", s.swingPart)
	mux.HandleFunc("POST /players/{id}/{act}", s.playerAct)
}

// file is all that is known of a player.
func (s *server) file(ctx context.Context, player string) *visit.File {
	if f := s.players.players(ctx)[player]; f != nil {
		return f
	}
	return &visit.File{Player: player}
}

// known is the player that an address names; it answers where there is none.
func (s *server) known(w http.ResponseWriter, r *http.Request) (*visit.File, people.Person, bool) {
	id := r.PathValue("id")
	p, named := s.people.Get(id)
	f := s.file(r.Context(), id)
	if (!named || p.Role != people.Player) && len(f.Seats) == 0 {
		s.fail(w, http.StatusNotFound, fmt.Errorf("no player %q is known here: look for the name among the players", id))
		return nil, p, false
	}
	if !named {
		p = people.Person{ID: id, Name: id, Role: people.Player}
	}
	return f, p, true
}

func (s *server) playersPage(w http.ResponseWriter, r *http.Request) {
	find := strings.TrimSpace(r.FormValue("find"))
	list := s.playerList(r.Context(), find)
	shown := len(list)
	if find == "" {
		shown = min(shown, 30) // who was here last; the others are found, or unfolded
	}
	s.show(w, http.StatusOK, "players.html", map[string]any{"Title": "Players", "Studio": s.studio, "Find": find,
		"Players": list[:shown], "Rest": list[shown:]})
}

func (s *server) playerPage(w http.ResponseWriter, r *http.Request) {
	if f, p, ok := s.known(w, r); ok {
		s.showPlayer(w, http.StatusOK, r, f, p, nil)
	}
}

func (s *server) showPlayer(w http.ResponseWriter, code int, r *http.Request, f *visit.File, p people.Person, refused error) {
	v := s.playerView(r.Context(), f, p)
	v.Key, v.Act = event.NewID(s.now()), r.PathValue("act")
	if refused != nil {
		_, v.Problem = s.problemOf(refused)
		v.Typed = r.PostForm
	}
	s.show(w, code, "player.html", map[string]any{"Title": p.Name, "Studio": s.studio, "V": v, "Fitters": s.fitters()})
}

// playerAct writes what was entered of a player, in the latest session that is
// known: where that is corrected or erased, it goes along.
func (s *server) playerAct(w http.ResponseWriter, r *http.Request) {
	f, p, ok := s.known(w, r)
	if !ok {
		return
	}
	r.Body = http.MaxBytesReader(w, r.Body, mostBody)
	act := r.PathValue("act")
	if err := r.ParseForm(); err != nil || act != "note" && act != "measures" && act != "bag" && act != "start" && act != "undo" {
		s.fail(w, http.StatusBadRequest, fmt.Errorf("this form can't be read: open the page again"))
		return
	}
	var err error
	to := "/players/" + p.ID
	switch {
	case act == "undo":
		err = s.takenBack(r, ofFile(f))
	case act == "start":
		if err = s.startAsLast(r, f, p); err == nil {
			to = "/bays/" + r.PostForm.Get("bay")
		}
	case f.Last() == nil:
		err = refuse("session", "", p.Name+" was in no session yet",
			"open one in a bay first: what is entered is kept, corrected and erased with it")
	case !s.writer.wasTaken(keyOf(act, r.PostForm)):
		err = s.enterOfPlayer(r, f, act)
	}
	if act == "bag" {
		if to += "/bag"; err != nil {
			code, _ := s.problemOf(err)
			s.showBag(w, code, r, f, p, err)
			return
		}
	}
	if err != nil {
		code, _ := s.problemOf(err)
		s.showPlayer(w, code, r, f, p, err)
		return
	}
	http.Redirect(w, r, to, http.StatusSeeOther)
}

func (s *server) enterOfPlayer(r *http.Request, f *visit.File, act string) error {
	seat := f.Last()
	at := s.orderPlace(seat.Bay)
	at.Bag, at.Far = f.Clubs(), s.units.Distance().Name
	if at.Bag == nil {
		at.Bag = []*event.BagClub{}
	}
	ev, faults := visit.Read(act, visit.Input(r.PostForm), at)
	if len(faults) > 0 {
		return &Refused{faults}
	}
	ev.Session, ev.Visit, ev.Id, ev.Who = seat.ID, seat.Visit, keyOf(act, r.PostForm), whoOf(r, at)
	_, err := s.write(r, seat.Bay, ev, anyhow)
	return err
}

// startAsLast opens a session as the player's last one of the kind was, and a
// trial with the player's own club as it is known now, or with a club of an order
// as it was built, for its hit check.
func (s *server) startAsLast(r *http.Request, f *visit.File, p people.Person) error {
	bay, of := r.PostForm.Get("bay"), r.PostForm.Get("club")
	if err := s.writer.Known(bay); err != nil {
		return err
	}
	if s.writer.wasTaken(keyOf("start", r.PostForm)) {
		return nil
	}
	open := &event.SessionOpened{Player: p.ID, Fitter: r.PostForm.Get("fitter"), Aim: strings.TrimSpace(r.PostForm.Get("aim"))}
	if last := f.Last(); last != nil {
		open.PoolingConsent, open.Minor, open.Hand = last.Consent, last.Minor, last.Hand
	}
	if open.Hand == event.Hand_HAND_UNKNOWN && p.Hand != "" {
		open.Hand = event.Hand(event.Hand_value["HAND_"+strings.ToUpper(p.Hand)])
	}
	var build *event.Build
	if number := r.PostForm.Get("order"); number != "" {
		open.Category, build = builtClub(f, number, of)
	} else {
		for _, o := range s.ownClubs(f) {
			if o.Name == of {
				open.Category, build = o.Category, proto.Clone(o.Build).(*event.Build)
				build.Gamer, build.Name = true, nonEmpty(build.Name, of)
			}
		}
	}
	if build == nil {
		return refuse("club", of, "is no club that is known of "+p.Name, "choose one of the list")
	}
	key := keyOf("start", r.PostForm)
	if key == "" {
		key = event.NewID(s.now())
	}
	at := s.writer.Place(bay)
	who := nonEmpty(whoOf(r, at), open.Fitter)
	opened := &event.VisitEvent{Id: key, Who: who, Body: &event.VisitEvent_SessionOpened{SessionOpened: open}}
	if _, err := s.write(r, bay, opened, anyhow); err != nil {
		return err
	}
	_, err := s.write(r, bay, &event.VisitEvent{Id: key + "-own", Who: who,
		Body: &event.VisitEvent_TrialStarted{TrialStarted: &event.TrialStarted{Build: build}}}, anyhow)
	return err
}

// builtClub is a club of one of the player's orders as it left the bench, and its
// kind; nil: there is none.
func builtClub(f *visit.File, number, name string) (category string, build *event.Build) {
	for _, o := range f.Orders() {
		if c := o.Club(name); o.Number() == number && c != nil {
			return c.GetCategory(), o.Made(c)
		}
	}
	return "", nil
}

// ownClubs are the clubs that a visit may start with: those of the bag, and own
// clubs that were hit and are not in it.
func (s *server) ownClubs(f *visit.File) []*event.BagClub {
	all := f.Clubs()
	have := map[string]bool{}
	for _, c := range all {
		have[c.Category] = true
	}
	for i := len(f.Seats) - 1; i >= 0; i-- {
		seat := f.Seats[i]
		for j := len(seat.Trials) - 1; j >= 0; j-- {
			if b := seat.Trials[j].Build; b.GetGamer() && !have[seat.Category] {
				have[seat.Category] = true
				all = append(all, &event.BagClub{Name: nonEmpty(b.GetName(), "own "+seat.Category), Category: seat.Category, Build: b})
			}
		}
	}
	return all
}

// swingPart tells how the swing changed since the visit before, once for each
// kind of club; the page asks for it after it stands, since it reads shots.
func (s *server) swingPart(w http.ResponseWriter, r *http.Request) {
	f, _, ok := s.known(w, r)
	if !ok {
		return
	}
	type told struct {
		Category string
		*sheets.Earlier
		Implies []string
	}
	var all []told
	why := ""
	seen := map[string]bool{}
	for i := len(f.Seats) - 1; i >= 0 && s.source != nil; i-- {
		seat := f.Seats[i]
		if seen[seat.Category] || seat.Open() {
			continue
		}
		e, err := s.source(r.Context(), seat.Bay, seat.Visit, seat.ID)
		if errors.Is(err, errNoStore) {
			why = "The store is away: shots of earlier visits can’t be read now."
			break
		}
		if err != nil {
			s.log.Warn("a swing can't be compared", "session", seat.ID, "error", err)
			continue
		}
		if e != nil {
			seen[seat.Category] = true
			all = append(all, told{seat.Category, e, e.Implies()})
		}
	}
	s.show(w, http.StatusOK, "swing", map[string]any{"All": all, "Why": why})
}

var errNoStore = errors.New("the store is not known yet")

// sinceLast compares a session's swing with that of the visit before.
func sinceLast(o Options, s *server) func(ctx context.Context, bay, visitID, session string) (*sheets.Earlier, error) {
	if o.Store == nil {
		return nil
	}
	return func(ctx context.Context, bay, visitID, session string) (*sheets.Earlier, error) {
		st := o.Store()
		if st == nil {
			return nil, errNoStore
		}
		source := &sheets.Source{Store: st, Studio: o.Studio, Name: s.people.Name, Open: s.writer.keys.Open}
		return source.SinceLast(ctx, bay, visitID, session, sheets.Units{Imperial: o.Imperial})
	}
}
