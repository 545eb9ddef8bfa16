package console

import (
	"errors"
	"net/http"

	"fairlead/dashboards/console/people"
)

// showPeople shows the list; refused is why a name was not taken, typed what was
// entered for it and stays.
func (s *server) showPeople(w http.ResponseWriter, code int, refused error, typed people.Person) {
	data := map[string]any{"Title": "People", "Studio": s.studio, "People": s.people.List(""), "Typed": typed}
	if refused != nil {
		wrong := &people.Wrong{Text: refused.Error()}
		errors.As(refused, &wrong)
		data["Wrong"] = wrong
	}
	s.show(w, code, "people.html", data)
}

func (s *server) peoplePage(w http.ResponseWriter, _ *http.Request) {
	s.showPeople(w, http.StatusOK, nil, people.Person{})
}

func (s *server) putPerson(w http.ResponseWriter, r *http.Request) {
	p := people.Person{ID: r.FormValue("id"), Role: people.Role(r.FormValue("role")), Name: r.FormValue("name"), Hand: r.FormValue("hand"), Note: r.FormValue("note")}
	if _, err := s.people.Put(p); err != nil {
		s.showPeople(w, http.StatusUnprocessableEntity, err, p)
		return
	}
	http.Redirect(w, r, "/people", http.StatusSeeOther)
}

// erasePerson asks first: a name that is gone can't be had back.
func (s *server) erasePerson(w http.ResponseWriter, r *http.Request) {
	if p, known := s.people.Get(r.PathValue("id")); known && r.FormValue("sure") != "yes" {
		s.show(w, http.StatusOK, "people.html", map[string]any{"Title": "Erase a name", "Studio": s.studio, "People": s.people.List(""), "Asked": p})
		return
	}
	if err := s.people.Erase(r.PathValue("id")); err != nil {
		s.showPeople(w, http.StatusUnprocessableEntity, err, people.Person{})
		return
	}
	http.Redirect(w, r, "/people", http.StatusSeeOther)
}
