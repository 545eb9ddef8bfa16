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

func (s *server) erasePerson(w http.ResponseWriter, r *http.Request) {
	if err := s.people.Erase(r.PathValue("id")); err != nil {
		s.showPeople(w, http.StatusUnprocessableEntity, err.Error())
		return
	}
	http.Redirect(w, r, "/people", http.StatusSeeOther)
}
