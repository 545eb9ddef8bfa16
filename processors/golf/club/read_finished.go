package club

import (
	"fmt"
	"io"
	"strings"

	"fairlead/ingest/contract/unit"
	"fairlead/ingest/contract/unit/table"
)

// specQuantity is the unit that a figure of a finished club is written in;
// swing weight is written as the trade does (D2).
var specQuantity = map[Spec]unit.Quantity{
	SpecLoft: unit.Angle, SpecLie: unit.Angle, SpecFaceAngle: unit.Angle, SpecLength: unit.Length,
	SpecMass: unit.Mass, SpecHeadMass: unit.Mass, SpecGripMass: unit.Mass,
	SpecFrequency: unit.Frequency, SpecInertia: unit.Inertia, SpecSwingWeight: unit.Ratio,
}

// FinishAccount is one figure of a finished club against what was ordered.
type FinishAccount struct {
	Club      string  `json:"club"`
	Figure    string  `json:"figure"`
	Unit      string  `json:"unit"`
	Wanted    float64 `json:"wanted"`
	Built     float64 `json:"built"`
	Off       float64 `json:"off"`
	Tolerance float64 `json:"tolerance"`
	Within    bool    `json:"within"`
}

// ParseTolerances are the defaults with some of them set, as loft=0.25deg.
func ParseTolerances(list []string) (Tolerances, error) {
	tol := DefaultTolerances()
	for _, t := range list {
		if err := tol.ParseTolerance(t); err != nil {
			return nil, err
		}
	}
	return tol, nil
}

// ParseTolerance reads a figure's own tolerance, such as loft=0.25deg, into t.
func (t Tolerances) ParseTolerance(text string) error {
	name, value, ok := strings.Cut(text, "=")
	q, known := specQuantity[Spec(name)]
	if !ok || !known {
		return fmt.Errorf("%q: write a figure and its tolerance, such as loft=0.25deg", text)
	}
	v, err := unit.Parse(q, value)
	if err != nil {
		return fmt.Errorf("%q: %w", text, err)
	}
	t[Spec(name)] = v
	return nil
}

// ReadFinished reads rows of club, figure, wanted and built, and compares.
func ReadFinished(in io.Reader, path string, tol Tolerances) ([]FinishAccount, error) {
	rows, err := table.Read(in, path, []table.Column{
		table.Words("club"), table.Words("figure"), table.Words("wanted"), table.Words("built"),
	})
	if err != nil {
		return nil, err
	}
	type pair struct{ wanted, built map[Spec]float64 }
	clubs := map[string]*pair{}
	var order []string
	for i, r := range rows {
		name, spec := r.Text("club"), Spec(r.Text("figure"))
		where := fmt.Sprintf("%s, row %d (%s %s)", path, i+1, name, spec)
		if _, ok := specQuantity[spec]; !ok {
			var names []string
			for _, s := range Specs() {
				names = append(names, string(s))
			}
			return nil, fmt.Errorf("%s: no such figure: use one of %s", where, strings.Join(names, ", "))
		}
		if clubs[name] == nil {
			clubs[name] = &pair{map[Spec]float64{}, map[Spec]float64{}}
			order = append(order, name)
		}
		for column, side := range map[string]map[Spec]float64{"wanted": clubs[name].wanted, "built": clubs[name].built} {
			if !r.Cells[column].Known {
				continue
			}
			if _, twice := side[spec]; twice {
				return nil, fmt.Errorf("%s: there twice: keep one row", where)
			}
			v, err := parseFigure(spec, r.Text(column))
			if err != nil {
				return nil, fmt.Errorf("%s, %s: %w", where, column, err)
			}
			side[spec] = v
		}
	}
	out := []FinishAccount{}
	for _, name := range order {
		finish, err := CheckBuild(clubs[name].wanted, clubs[name].built, tol)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", name, err)
		}
		for _, f := range finish {
			u := unit.Stored(specQuantity[f.Spec])
			if f.Spec == SpecSwingWeight {
				u = "points"
			}
			out = append(out, FinishAccount{name, string(f.Spec), u, f.Wanted, f.Built, f.Off, f.Tolerance, f.Within})
		}
	}
	return out, nil
}

func parseFigure(s Spec, text string) (float64, error) {
	if s == SpecSwingWeight {
		v, err := ParseSwingWeight(text)
		return float64(v), err
	}
	return unit.Parse(specQuantity[s], text)
}
