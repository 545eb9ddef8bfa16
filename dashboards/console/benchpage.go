package console

import (
	"fmt"
	"io"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"fairlead/ingest/contract/unit"
	"fairlead/processors/golf/club"
)

// The bench's tools as pages: the same computations and words as the commands
// `fairlead club`, `window` and `impact` have, asked by a form.

// benchTool is one tool.
type benchTool struct {
	Name, Title, About, Command string
	Fields                      []toolField
	tell                        func(b *benchAsked) (func(io.Writer) error, error)
}

type toolField struct {
	Name, Label, Default string
	Quantity             unit.Quantity // of a number; empty: words
	Long                 bool          // several lines
	Choices              []string
	Yes                  bool
	Value                string // as it was entered
	Unit                 string // of a bare number
}

// benchAsked is what was entered.
type benchAsked struct {
	in    url.Values
	show  unit.Shown
	wrong []string
	tool  benchTool
}

// bareUnit is the unit of a number without one, in a studio of these units.
func bareUnit(f toolField, imperial bool) string {
	ground := f.Name == "carry"
	switch {
	case f.Quantity == unit.Length && ground && imperial:
		return "yd"
	case f.Quantity == unit.Length && ground:
		return "m"
	case f.Quantity == unit.Length && imperial:
		return "in"
	case f.Quantity == unit.Length:
		return "mm"
	case f.Quantity == unit.Speed && imperial:
		return "mph"
	case f.Quantity == unit.Speed:
		return "m/s"
	}
	return map[unit.Quantity]string{unit.Mass: "g", unit.Angle: "deg", unit.Rotation: "rpm"}[f.Quantity]
}

// value reads a field of a number.
func (b *benchAsked) value(name string) *unit.Value {
	i := slices.IndexFunc(b.tool.Fields, func(f toolField) bool { return f.Name == name })
	f := b.tool.Fields[i]
	v := unit.NewValue(f.Quantity, 0)
	text := strings.TrimSpace(b.in.Get(name))
	if text == "" {
		text = f.Default
	}
	if text == "" {
		return v
	}
	info := club.Figure{Name: name, Quantity: f.Quantity, Min: -1e9, Max: 1e9, Prefer: bareUnit(f, b.show.Imperial)}
	if f.Quantity == unit.Length || f.Quantity == unit.Mass || f.Quantity == unit.Angle {
		x, err := club.ParseFigure(text, info)
		if err != nil {
			b.wrong = append(b.wrong, fmt.Sprintf("%s: %v", f.Label, err))
		}
		v.V, v.Given = x, err == nil
		return v
	}
	if strings.Trim(text, "0123456789.,-") == "" {
		text += bareUnit(f, b.show.Imperial)
	}
	if err := v.Set(strings.ReplaceAll(text, ",", ".")); err != nil {
		b.wrong = append(b.wrong, fmt.Sprintf("%s: %v", f.Label, err))
	}
	return v
}

func (b *benchAsked) text(name string) string { return strings.TrimSpace(b.in.Get(name)) }

// given says that anything was entered.
func (b *benchAsked) given() bool {
	return slices.ContainsFunc(b.tool.Fields, func(f toolField) bool { return b.text(f.Name) != "" })
}

func (s *server) benchRoutes(mux *http.ServeMux) {
	mux.HandleFunc("GET /bench", func(w http.ResponseWriter, r *http.Request) { s.benchPage(w, r) })
	mux.HandleFunc("GET /bench/{tool}", s.benchPage)
}

// benchPage asks and answers; every field may stand in the address.
func (s *server) benchPage(w http.ResponseWriter, r *http.Request) {
	all := benchTools()
	name := nonEmpty(r.PathValue("tool"), all[0].Name)
	i := slices.IndexFunc(all, func(t benchTool) bool { return t.Name == name })
	if i < 0 {
		s.fail(w, http.StatusNotFound, fmt.Errorf("no tool %q: choose one of the bench", name))
		return
	}
	b := &benchAsked{in: r.URL.Query(), show: unit.Shown{Imperial: s.units.Imperial}, tool: all[i]}
	told, code := "", http.StatusOK
	if b.given() {
		tell, err := b.tool.tell(b)
		var out strings.Builder
		if err == nil && len(b.wrong) == 0 {
			err = tell(&out)
		}
		if err != nil && len(b.wrong) == 0 {
			b.wrong = append(b.wrong, plainHint(strings.ReplaceAll(err.Error(), "--", "")))
		}
		if told = out.String(); len(b.wrong) > 0 {
			code = http.StatusUnprocessableEntity
		}
	}
	t := b.tool
	for i, f := range t.Fields {
		t.Fields[i].Value, t.Fields[i].Unit = b.in.Get(f.Name), strings.Replace(bareUnit(f, s.units.Imperial), "deg", "°", 1)
	}
	var cautions []stepView
	for _, op := range club.Operations() {
		list, _ := club.Cautions(op)
		cautions = append(cautions, stepView{strings.ReplaceAll(string(op), "-", " "), list})
	}
	s.show(w, code, "bench.html", map[string]any{"Title": t.Title, "Studio": s.studio, "Tools": all, "T": t, "Told": told, "Wrong": b.wrong,
		"Cautions": cautions})
}
