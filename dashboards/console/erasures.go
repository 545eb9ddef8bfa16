package console

import (
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"strings"
	"time"

	"fairlead/dashboards/console/people"
	"fairlead/dashboards/gate"
	"fairlead/ingest/contract/event"
	"fairlead/processors/ask/erase"
)

func plainName(name string) string { return strings.Join(strings.Fields(name), " ") }

// stayForgotten asks again for the erasure of who was forgotten and is here all the
// same: the hub was restored from a copy of before. Their names and words can't be
// read; the rest goes as soon as the hub has looked.
func (s *server) stayForgotten() error {
	var failed error
	for player := range s.writer.keys.Gone() {
		if _, ok := s.erasures.Of(player); ok {
			continue // done, or under way
		}
		s.log.Warn("a player who was forgotten stands in a copy that this hub was restored from, and is erased again", "player", player)
		failed = errors.Join(failed, s.forgetAgain(player))
	}
	// And whose sessions came back later, before the erasure could be asked for.
	for _, bay := range s.bays {
		for _, session := range s.writer.Timeline(bay).Sessions {
			if s.writer.keys.Forgot(session.ID) && !session.Erased && session.Player != "" {
				failed = errors.Join(failed, s.forgetAgain(session.Player))
			}
		}
	}
	return failed
}

// forgetAgain has the hub erase a player whose erasure was due long ago: nobody
// waits for it at a terminal.
func (s *server) forgetAgain(player string) error {
	now := s.now().UTC().Truncate(time.Second)
	_, err := s.erasures.Ask(erase.Request{Player: player, Role: string(people.Player), Asked: now, By: "hub",
		Due: now.Add(-erase.AfterWhoAsked)})
	return err
}

// cameBack is for Writer.returned.
func (s *server) cameBack(player string) {
	s.log.Warn("a player who was forgotten came back with a bay's copies, and is erased again", "player", player)
	if err := s.forgetAgain(player); err != nil {
		s.log.Error("the erasure of who was forgotten and came back could not be asked for; the console's next start does", "error", err)
	}
}

// askedBy is the account that asks; empty where nobody is asked who they are.
func askedBy(r *http.Request) string {
	if i := gate.From(r.Context()); i != nil {
		return i.Person
	}
	return ""
}

// askErasure has a person erased once the delay is over. Who asks types the name
// that is on file, or the pseudonym where there is none.
func (s *server) askErasure(r *http.Request, id, typed string) (erase.Request, error) {
	p, onFile := s.people.Get(id)
	if known, ok := s.erasures.Of(id); ok && !onFile {
		return known, nil // begun before: the name went first
	}
	if !people.ValidID(id) || !onFile && typed != id { // who has only rows of long ago is named by pseudonym
		return erase.Request{}, fmt.Errorf("%w: %s", people.ErrUnknown, id)
	}
	if name := plainName(nonEmpty(p.Name, id)); !strings.EqualFold(plainName(typed), name) {
		return erase.Request{}, refuse("name", typed, "is not who is to be erased", "type the name as it stands on file: "+name)
	}
	if err := s.notInABay(id); err != nil {
		return erase.Request{}, err
	}
	now := s.now().UTC().Truncate(time.Second)
	req, err := s.erasures.Ask(erase.Request{Player: id, Name: onFile, Role: string(p.Role), Asked: now, By: askedBy(r),
		Due: now.Add(s.eraseAfter)})
	if err == nil {
		s.gate.Note(r, "asked to erase", id)
	}
	return req, err
}

// notInABay refuses to erase who has a session open.
func (s *server) notInABay(player string) error {
	for _, bay := range s.bays {
		if session := s.writer.Timeline(bay).Now().Session; session != nil && session.Player == player {
			return refuse("player", player, "has a session open in bay "+bay, "close it first")
		}
	}
	return nil
}

// mayErase says whether an event that strips a session may be written: the
// player's erasure was asked for and is due, and the session is closed.
func (s *server) mayErase(ev *event.VisitEvent) error {
	player := ev.GetSessionErased().GetPlayer()
	if player == "" {
		return refuse("player", "", "missing: an erasure is of one player", "name the player by pseudonym, as the page of people shows it")
	}
	if req, ok := s.erasures.Of(player); !ok || !req.IsDue(s.now()) {
		return refuse("body", "session_erased", "no erasure of player "+player+" is due",
			"ask for it on the page of people, or by `fairlead erase`; it can be taken back until it is due")
	}
	for _, bay := range s.bays {
		session := s.writer.Timeline(bay).Session(ev.Session)
		switch {
		case session == nil || session.Erased:
		case session.Player != player:
			return refuse("session", ev.Session, "is not player "+player+"'s", "name the player whose session it is")
		case session.Open() && session.MovedTo == "":
			return refuse("session", ev.Session, "is open in bay "+bay, "close it first")
		}
	}
	return nil
}

func (s *server) keepPerson(r *http.Request, id string) (erase.Request, error) {
	req, err := s.erasures.Keep(id, askedBy(r), s.now())
	if err == nil {
		s.gate.Note(r, "took back an erasure", id)
	}
	return req, err
}

// answerErasure writes what became of a request to erase.
func (s *server) answerErasure(w http.ResponseWriter, req erase.Request, err error) {
	var refused *Refused
	switch {
	case err == nil:
		writeJSON(w, http.StatusOK, req)
	case errors.Is(err, people.ErrUnknown), errors.Is(err, erase.ErrNoRequest):
		writeJSON(w, http.StatusNotFound, problem{Error: err.Error()})
	case errors.As(err, &refused):
		code, p := s.problemOf(err)
		writeJSON(w, code, p)
	default:
		writeJSON(w, http.StatusConflict, problem{Error: err.Error()})
	}
}

func (s *server) apiErasures(w http.ResponseWriter, _ *http.Request) {
	writeJSON(w, http.StatusOK, s.erasures.List())
}

func (s *server) apiAskErasure(w http.ResponseWriter, r *http.Request) {
	var in struct{ Player, Name string }
	d := json.NewDecoder(http.MaxBytesReader(w, r.Body, mostBody))
	d.DisallowUnknownFields()
	if err := d.Decode(&in); err != nil {
		writeJSON(w, http.StatusUnprocessableEntity,
			problem{Error: "no request: " + err.Error() + ": send player, and name as it stands on file"})
		return
	}
	req, err := s.askErasure(r, in.Player, in.Name)
	s.answerErasure(w, req, err)
}

func (s *server) apiKeepPerson(w http.ResponseWriter, r *http.Request) {
	req, err := s.keepPerson(r, r.PathValue("player"))
	s.answerErasure(w, req, err)
}

func (s *server) apiErased(w http.ResponseWriter, r *http.Request) {
	player := r.PathValue("player")
	if known, ok := s.erasures.Of(player); ok && known.IsDue(s.now()) {
		if err := s.writer.keys.Forget(player, nil, s.now()); err != nil {
			writeJSON(w, http.StatusServiceUnavailable, problem{Error: err.Error()})
			return
		}
	}
	req, err := s.erasures.Finish(player, s.now())
	if err == nil {
		s.gate.Note(r, "erased", req.Player)
	}
	s.answerErasure(w, req, err)
}

// apiErasePerson takes a name out of the file once its erasure is due.
func (s *server) apiErasePerson(w http.ResponseWriter, r *http.Request) {
	id := r.PathValue("id")
	if _, onFile := s.people.Get(id); !onFile {
		writeJSON(w, http.StatusNotFound, problem{Error: fmt.Errorf("%w: %s", people.ErrUnknown, id).Error()})
		return
	}
	if req, ok := s.erasures.Of(id); !ok || !req.IsDue(s.now()) {
		writeJSON(w, http.StatusConflict, problem{Error: "no erasure of " + id +
			" is due: ask for it by POST /api/erasures; it can be taken back until it is due"})
		return
	}
	// The keys first: with them go the copies of the name and of what was written.
	err := s.writer.keys.Forget(id, nil, s.now())
	if err == nil {
		err = s.people.Erase(id)
	}
	if err != nil {
		writeJSON(w, http.StatusServiceUnavailable, problem{Error: err.Error()})
		return
	}
	s.gate.Note(r, "erased a name", id)
	writeJSON(w, http.StatusOK, map[string]string{"erased": id})
}

// waiting lists the erasures that wait for their time.
func (s *server) waiting() (out []erase.Request) {
	for _, r := range s.erasures.List() {
		if r.Waits() {
			out = append(out, r)
		}
	}
	return out
}

// erasePerson asks first, for the name to be typed.
func (s *server) erasePerson(w http.ResponseWriter, r *http.Request) {
	id, typed := r.PathValue("id"), r.FormValue("typed")
	p, known := s.people.Get(id)
	if known && typed == "" {
		s.showPeople(w, http.StatusOK, nil, people.Person{}, p)
		return
	}
	if _, err := s.askErasure(r, id, typed); err != nil {
		code, asked := http.StatusUnprocessableEntity, []people.Person{}
		if known {
			asked = append(asked, p)
		}
		s.showPeople(w, code, err, people.Person{}, asked...)
		return
	}
	http.Redirect(w, r, "/people", http.StatusSeeOther)
}

// keepPersonPage takes an erasure back.
func (s *server) keepPersonPage(w http.ResponseWriter, r *http.Request) {
	if _, err := s.keepPerson(r, r.PathValue("id")); err != nil {
		s.showPeople(w, http.StatusUnprocessableEntity, err, people.Person{})
		return
	}
	http.Redirect(w, r, "/people", http.StatusSeeOther)
}
