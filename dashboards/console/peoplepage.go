package console

import (
	"net/http"

	"fairlead/dashboards/console/people"
)

func (s *server) showPeople(w http.ResponseWriter, code int, notice string) {
	s.show(w, code, "people.html", map[string]any{"Title": "People", "Studio": s.studio, "People": s.people.List(""), "Notice": notice})
}

func (s *server) peoplePage(w http.ResponseWriter, _ *http.Request) {
	s.showPeople(w, http.StatusOK, "")
}

func (s *server) putPerson(w http.ResponseWriter, r *http.Request) {
	p := people.Person{ID: r.FormValue("id"), Role: people.Role(r.FormValue("role")), Name: r.FormValue("name"), Hand: r.FormValue("hand"), Note: r.FormValue("note")}
	if _, err := s.people.Put(p); err != nil {
		s.showPeople(w, http.StatusUnprocessableEntity, err.Error())
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
		s.showPeople(w, http.StatusUnprocessableEntity, err.Error())
		return
	}
	http.Redirect(w, r, "/people", http.StatusSeeOther)
}
