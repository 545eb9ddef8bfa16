package console

import (
	"html/template"
	"strings"
)

// place is a page that is reached from everywhere.
type place struct{ href, name string }

// places is the menu of all pages, in three groups: eleven side by side had to be
// swiped on a phone, and the last ones were not found.
func (s *server) places() template.HTML {
	people := []place{{"/players", "Players"}, {"/players/due", "Whom to ask back"}, {"/people", "Names"}}
	shop := []place{{"/orders/", "Orders"}, {"/orders/mirror", "Done and promised"}, {"/stock", "Stock"}, {"/bench", "Bench"}}
	if s.papers != nil {
		shop = append(shop, place{"/sheets/", "Sheets"})
	}
	studio := []place{{"/", "Bays"}, {"/morning", "Morning check"}}
	if s.desk.Conn != nil {
		studio = append(studio, place{"/feeds", "Devices"})
	}
	if s.enrol != nil {
		studio = append(studio, place{"/enrol", "Bay PCs"})
	}
	if s.ops != nil {
		studio = append(studio, place{"/ops", "Watch"})
	}
	if s.fleet != nil {
		studio = append(studio, place{"/fleet/", "Fleet"})
	}
	var b strings.Builder
	b.WriteString(`<details class="places"><summary>All pages</summary><nav aria-label="All pages">`)
	for _, group := range []struct {
		name string
		of   []place
	}{{"Studio", studio}, {"Players", people}, {"Workshop", shop}} {
		b.WriteString(`<div><p>` + group.name + `</p>`)
		for _, p := range group.of {
			b.WriteString(`<a href="` + p.href + `">` + p.name + `</a>`)
		}
		b.WriteString(`</div>`)
	}
	b.WriteString(`</nav></details>`)
	return template.HTML(b.String())
}
