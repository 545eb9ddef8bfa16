package evidence

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fairlead/ingest/contract/glossary"
)

// digits writes a value with its numbers to five digits, so that another order of
// adding up does not show.
func digits(v any) any {
	switch x := v.(type) {
	case float64:
		return json.Number(fmt.Sprintf("%.5g", x))
	case []any:
		for i := range x {
			x[i] = digits(x[i])
		}
	case map[string]any:
		for k := range x {
			x[k] = digits(x[k])
		}
	}
	return v
}

// What is said of a few sessions is kept in testdata/told.txt: numbers, verdicts,
// forecasts, plan and words. FAIRLEAD_GOLDEN=write records it anew: read the
// difference, and whether R and the simulations still agree (golden_test.go,
// calibration_test.go).
func TestWhatIsSaidOfAFewSessionsStays(t *testing.T) {
	var out strings.Builder
	for _, c := range []struct {
		name                string
		category            glossary.Category
		baseline, candidate []Trial
		options             Options
	}{
		{"longer", glossary.Driver, []Trial{club(1, "gamer", 15, 0, 220, 3000, 3)}, []Trial{club(2, "head", 15, 0, 228, 2900, 3)}, Options{}},
		{"longer but wider", glossary.Driver, []Trial{club(1, "gamer", 25, 0, 220, 3000, 2)}, []Trial{club(2, "head", 25, 0, 229, 2500, 5)},
			Options{WarmUp: -1, Settle: -1}},
		{"shorter but tighter", glossary.Driver, []Trial{club(1, "gamer", 25, 0, 220, 3000, 5)}, []Trial{club(2, "head", 25, 0, 210, 3000, 2)},
			Options{}},
		{"the same", glossary.Iron, []Trial{club(5, "gamer", 30, 0, 150, 6000, 3)}, []Trial{club(6, "head", 30, 0, 150, 6000, 3)},
			Options{Wander: map[glossary.Name]float64{glossary.Carry: -1}, Block: 8}},
		{"in turn", glossary.Iron, []Trial{club(5, "gamer", 8, 1, 150, 6000, 3), club(7, "gamer", 8, 17, 151, 6000, 3)},
			[]Trial{club(6, "head", 8, 9, 156, 6500, 3), club(8, "head", 8, 25, 155, 6500, 3)}, Options{Alpha: 0.1}},
		{"few", glossary.Wedge, []Trial{club(9, "gamer", 8, 1, 90, 9000, 3)}, []Trial{club(10, "head", 7, 9, 92, 9000, 3)}, Options{}},
		{"shorter is wanted", glossary.Iron, []Trial{club(1, "gamer", 20, 0, 150, 6000, 2)}, []Trial{club(2, "head", 20, 0, 145, 6000, 4)},
			Options{Goals: map[glossary.Name]glossary.Goal{glossary.Carry: {Way: glossary.Lower}}}},
		{"a distance is wanted", glossary.Iron, []Trial{club(1, "gamer", 20, 0, 150, 6000, 2)}, []Trial{club(2, "head", 20, 0, 157, 6000, 4)},
			Options{Goals: map[glossary.Name]glossary.Goal{glossary.Carry: {Way: glossary.Toward, Target: 156}}}},
		{"with a prior", glossary.Driver, []Trial{club(1, "gamer", 15, 0, 220, 3000, 3)}, []Trial{club(2, "head", 15, 0, 223, 2900, 3)},
			Options{Priors: map[glossary.Name]Prior{glossary.Carry: {Mean: 5, SD: 2, Doubt: 0.2}, glossary.Direction: {Mean: -0.2, SD: 0.1}}}},
		{"against the prior", glossary.Driver, []Trial{club(1, "gamer", 15, 0, 220, 3000, 3)}, []Trial{club(2, "head", 15, 0, 212, 2900, 3)},
			Options{Priors: map[glossary.Name]Prior{glossary.Carry: {Mean: 8, SD: 2, Doubt: 0.1}}}},
	} {
		r, err := Compare(c.category, c.baseline, c.candidate, c.options)
		if err != nil {
			t.Fatal(c.name, err)
		}
		plan := Next(c.category, "gamer", []Candidate{{Name: "head", Report: r}}, 5)
		told := Tell(r, plan)
		var words bytes.Buffer
		if err := WriteText(&words, r, plan, told); err != nil {
			t.Fatal(err)
		}
		fmt.Fprintf(&out, "== %s\n%s", c.name, words.String())
		for _, v := range []any{r.Outcomes, r.Order, r.Trade, plan, told} {
			text, err := json.Marshal(v)
			var any any
			if err == nil {
				err = json.Unmarshal(text, &any)
			}
			if err != nil {
				t.Fatal(c.name, err)
			}
			text, _ = json.Marshal(digits(any))
			fmt.Fprintf(&out, "%s\n", strings.ReplaceAll(string(text), "},{", "},\n{"))
		}
	}
	for _, x := range []float64{-3, -0.5, 0, 0.1, 2, 40} {
		fmt.Fprintf(&out, "e-values at %g: %.6g %.6g %.6g, %.6g %.6g\n", x, tEValue(x, 4, 0.5), tEValue(x, 30, 5), tEValue(x, 1e6, 50),
			normalEValue(x, 0.2, 0.5), normalEValue(x, 3, 2))
	}
	for _, p := range []float64{0, 0.001, 0.05, 0.5, 0.8, 0.95, 0.999, 1, math.NaN()} {
		fmt.Fprintf(&out, "odds of %g: %s\n", p, OddsText(p))
	}
	file := filepath.Join("testdata", "told.txt")
	if os.Getenv("FAIRLEAD_GOLDEN") == "write" {
		if err := os.WriteFile(file, []byte(out.String()), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	kept, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	was, is := strings.Split(string(kept), "\n"), strings.Split(out.String(), "\n")
	for i := range max(len(was), len(is)) {
		if i >= len(was) || i >= len(is) || was[i] != is[i] {
			t.Fatalf("line %d of %s is otherwise: %q", i+1, file, is[min(i, len(is)-1)])
		}
	}
}
