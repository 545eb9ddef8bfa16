package console

import (
	"net/http"
	"net/url"

	"fairlead/dashboards/console/people"
	"fairlead/ingest/contract/event"
	"fairlead/processors/visit"
)

// bagParts are the columns of the bag's grid, in the order of a hand that goes
// through a club: gauge and ruler first, then the scales, then what is printed.
var bagParts = []string{"length", "loft", "lie", "swing_weight", "total_weight", "frequency", "grip_size", "head_model", "shaft_model",
	"grip_model"}

// bagView is a player's bag on one grid.
type bagView struct {
	people.Person
	Known   bool
	Columns []bagColumn
	Rows    []bagRow
	Far     string // unit of carries
	Count   int
	Key     string
	Problem problem
	Typed   url.Values
	How     string
}

type bagColumn struct{ Label, Unit string }

type bagRow struct {
	Name, Category, Carry, CarryTyped string
	Cells                             []bagCell
	Drift                             []driftView
	Gone                              bool
}

type bagCell struct {
	Name, Label, Value, Typed string
	Measured                  bool
}

func (s *server) bagPage(w http.ResponseWriter, r *http.Request) {
	if f, p, ok := s.known(w, r); ok {
		s.showBag(w, http.StatusOK, r, f, p, nil)
	}
}

func (s *server) showBag(w http.ResponseWriter, code int, r *http.Request, f *visit.File, p people.Person, refused error) {
	v := bagView{Person: p, Known: f.Last() != nil, Far: s.units.Distance().Name, Key: event.NewID(s.now()), How: "stated"}
	if refused != nil {
		_, v.Problem = s.problemOf(refused)
		v.Typed, v.How = r.PostForm, r.PostForm.Get("how")
	}
	for _, name := range bagParts {
		info, _ := event.BuildFieldNamed(name)
		c := bagColumn{Label: info.Label}
		if !info.Text && name != "grip_size" && name != "swing_weight" {
			c.Unit = s.units.spec(info.Quantity).Name
		}
		v.Columns = append(v.Columns, c)
	}
	for _, o := range f.Owned() {
		row := bagRow{Name: o.Name, Category: o.Category, CarryTyped: v.Typed.Get("carry." + o.Name), Drift: s.ownedView(o).Drift,
			Gone: v.Typed.Get("gone."+o.Name) != ""}
		if o.CarryM > 0 {
			row.Carry = s.units.Distance().Short(o.CarryM)
		}
		for _, name := range bagParts {
			info, _ := event.BuildFieldNamed(name)
			cell := bagCell{Name: "bag." + o.Name + "." + name, Label: info.Label}
			cell.Typed = v.Typed.Get(cell.Name)
			if spec := o.Build.Spec(info.Field); spec != nil {
				cell.Value, cell.Measured = s.partText(info, spec), spec.Knowledge == event.Knowledge_KNOWLEDGE_MEASURED
				if !info.Text && name != "grip_size" && name != "swing_weight" { // its unit stands above the column
					cell.Value = s.units.spec(info.Quantity).Short(spec.Number)
				}
			}
			row.Cells = append(row.Cells, cell)
		}
		v.Rows = append(v.Rows, row)
	}
	v.Count = len(v.Rows)
	s.show(w, code, "bag.html", map[string]any{"Title": "Bag of " + p.Name, "Studio": s.studio, "V": v, "Fitters": s.fitters()})
}
