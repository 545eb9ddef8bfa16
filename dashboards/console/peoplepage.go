package console

import (
	"errors"
	"net/http"
	"strings"

	"fairlead/dashboards/console/people"
)

// showPeople shows the list; refused is why a name was not taken, typed what was
// entered for it and stays.
// asked is who is to be erased, if somebody is.
func (s *server) showPeople(w http.ResponseWriter, code int, refused error, typed people.Person, asked ...people.Person) {
	data := map[string]any{"Title": "People", "Studio": s.studio, "People": s.people.List(""), "Typed": typed, "Asked": asked,
		"Erasures": s.waiting(), "Delay": strings.TrimSuffix(strings.TrimSuffix(s.eraseAfter.String(), "0s"), "0m")}
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
	p := people.Person{ID: r.FormValue("id"), Role: people.Role(r.FormValue("role")), Name: r.FormValue("name"), Hand: r.FormValue("hand"),
		Note: r.FormValue("note")}
	if _, err := s.people.Put(p); err != nil {
		s.showPeople(w, http.StatusUnprocessableEntity, err, p)
		return
	}
	http.Redirect(w, r, "/people", http.StatusSeeOther)
}
