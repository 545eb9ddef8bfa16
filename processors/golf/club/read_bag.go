package club

import (
	"fmt"
	"io"
	"strings"

	"fairlead/ingest/contract/unit"
	"fairlead/ingest/contract/unit/table"
)

var bagColumns = []table.Column{
	table.Words("club", "build_name"),
	table.Words("category"),
	table.Words("swing", "class"),
	table.Of(unit.Angle, "loft"),
	table.Of(unit.Length, "carry"),
	table.Of(unit.Angle, "landing", "landing_angle"),
	table.Of(unit.Rotation, "spin", "spin_rate"),
	table.Of(unit.Length, "stop"),
}

// ReadBag reads a bag of measured shots, one row a shot, by club and swing.
func ReadBag(in io.Reader, name string) ([]Position, error) {
	rows, err := table.Read(in, name, bagColumns)
	if err != nil {
		return nil, err
	}
	return bagOf(name, rows)
}

// bagOf groups rows by club and swing, in the order they first appear.
func bagOf(path string, rows []table.Row) ([]Position, error) {
	type measured struct{ carry, landing, spin, stop []float64 }
	var order []string
	positions := map[string]*Position{}
	values := map[string]*measured{}
	for i, r := range rows {
		where := fmt.Sprintf("%s, shot %d", path, i+1)
		name := r.Text("club")
		if kind := r.Text("category"); name == "" && kind != "" {
			name = "unnamed " + kind // an export's build that nobody gave a name
		}
		if name == "" {
			return nil, fmt.Errorf("%s: no club: every row needs one", where)
		}
		swing := r.Text("swing")
		if swing == "full" { // as an export's class says it
			swing = ""
		}
		p := Position{Club: name, Swing: swing}
		key := strings.ToLower(p.Name())
		if positions[key] == nil {
			category, ok := CategoryOf(name)
			if text := r.Text("category"); text != "" {
				var err error
				if category, err = ParseCategory(text); err != nil {
					return nil, fmt.Errorf("%s: %w", where, err)
				}
			} else if !ok {
				return nil, fmt.Errorf("%s: %q is no usual name of a club: add a column category (driver, wood, hybrid, iron, wedge or putter)", where,
					name)
			}
			p.Category, p.Loft = category, r.Cells["loft"].V
			positions[key], values[key] = &p, &measured{}
			order = append(order, key)
		}
		v := values[key]
		for name, list := range map[string]*[]float64{"carry": &v.carry, "landing": &v.landing, "spin": &v.spin, "stop": &v.stop} {
			if r.Cells[name].Known {
				*list = append(*list, r.Cells[name].V)
			}
		}
	}
	var out []Position
	for _, key := range order {
		p, v := positions[key], values[key]
		for _, part := range []struct {
			to   *Sample
			what string
			from []float64
		}{{&p.Carry, "carry", v.carry}, {&p.Landing, "landing", v.landing}, {&p.Spin, "spin", v.spin}, {&p.Stop, "stop", v.stop}} {
			s, err := NewSample(part.what, part.from)
			if err != nil {
				return nil, fmt.Errorf("%s, %s: %w", path, p.Name(), err)
			}
			*part.to = s
		}
		out = append(out, *p)
	}
	return out, nil
}
