package main

import (
	"fmt"
	"strings"
	"text/tabwriter"

	"fairlead/ingest/contract/unit"
	"fairlead/processors/golf/club"
	"github.com/spf13/cobra"
)

// specQuantity is the unit that a figure of a finished club is written in;
// swing weight is written as the trade does (D2).
var specQuantity = map[club.Spec]unit.Quantity{
	club.SpecLoft: unit.Angle, club.SpecLie: unit.Angle, club.SpecFaceAngle: unit.Angle, club.SpecLength: unit.Length,
	club.SpecMass: unit.Mass, club.SpecHeadMass: unit.Mass, club.SpecGripMass: unit.Mass,
	club.SpecFrequency: unit.Frequency, club.SpecInertia: unit.Inertia, club.SpecSwingWeight: unit.Ratio,
}

type finishJSON struct {
	Club      string  `json:"club"`
	Figure    string  `json:"figure"`
	Unit      string  `json:"unit"`
	Wanted    float64 `json:"wanted"`
	Built     float64 `json:"built"`
	Off       float64 `json:"off"`
	Tolerance float64 `json:"tolerance"`
	Within    bool    `json:"within"`
}

func newClubCheckCommand() *cobra.Command {
	var asJSON bool
	var tolerances []string
	c := &cobra.Command{
		Use:   "check FILE.csv",
		Short: "A finished club against what was ordered, within tolerances",
		Long: `Compares measured figures with ordered ones: rows of club, figure, wanted,
built, values with units (33deg, 37.25in, D2). Figures: loft, lie, face_angle,
length, swingweight, mass, head_mass, grip_mass, frequency, inertia. The
tolerances are working defaults; --tolerance sets your own. Exit code 1 when a
figure is out.`,
		Example: `  fairlead club check testdata/club/built.csv --tolerance lie=1.5deg --tolerance swingweight=1
  fairlead club check testdata/club/built.csv --tolerance lie=1.5deg --tolerance swingweight=1 --json`,
		Args: oneFile,
	}
	c.Flags().StringArrayVar(&tolerances, "tolerance", nil, "a figure's own tolerance, such as loft=0.25deg (repeatable)")
	c.Flags().BoolVar(&asJSON, "json", false, "write one JSON array")
	c.RunE = func(c *cobra.Command, args []string) error {
		tol := club.DefaultTolerances()
		for _, t := range tolerances {
			name, text, ok := strings.Cut(t, "=")
			q, known := specQuantity[club.Spec(name)]
			if !ok || !known {
				return &usageError{fmt.Errorf("--tolerance %q: write a figure and its tolerance, such as loft=0.25deg", t)}
			}
			v, err := unit.Parse(q, text)
			if err != nil {
				return &usageError{fmt.Errorf("--tolerance %q: %w", t, err)}
			}
			tol[club.Spec(name)] = v
		}
		out, err := checkSheet(c, args[0], tol)
		if err != nil {
			return clubUse(err)
		}
		outside := 0
		for _, f := range out {
			if !f.Within {
				outside++
			}
		}
		if asJSON {
			err = writeClubJSON(c.OutOrStdout(), out)
		} else {
			t := tabwriter.NewWriter(c.OutOrStdout(), 0, 0, 2, ' ', 0)
			fmt.Fprint(t, "club\tfigure\twanted\tbuilt\toff\ttolerance\t\n")
			for _, f := range out {
				word := "within"
				if !f.Within {
					word = "OUT"
				}
				fmt.Fprintf(t, "%s\t%s\t%s\t%s\t%+.4g %s\t±%.4g %s\t%s\n", f.Club, f.Figure, figureText(f, f.Wanted), figureText(f, f.Built), f.Off, f.Unit, f.Tolerance, f.Unit, word)
			}
			err = t.Flush()
		}
		if err == nil && outside > 0 {
			return &exitError{1, fmt.Errorf("%d of %d figures are out of tolerance", outside, len(out))}
		}
		return err
	}
	return c
}

func figureText(f finishJSON, v float64) string {
	if f.Figure == string(club.SpecSwingWeight) {
		return club.SwingWeight(v).String()
	}
	return fmt.Sprintf("%.5g %s", v, f.Unit)
}

func checkSheet(c *cobra.Command, path string, tol club.Tolerances) ([]finishJSON, error) {
	rows, err := readSheet(c, path, []sheetColumn{
		{names: []string{"club"}, text: true}, {names: []string{"figure"}, text: true},
		{names: []string{"wanted"}, text: true}, {names: []string{"built"}, text: true},
	})
	if err != nil {
		return nil, err
	}
	type pair struct{ wanted, built map[club.Spec]float64 }
	clubs := map[string]*pair{}
	var order []string
	for i, r := range rows {
		name, spec := r["club"].Text, club.Spec(r["figure"].Text)
		where := fmt.Sprintf("%s, row %d (%s %s)", path, i+1, name, spec)
		if _, ok := specQuantity[spec]; !ok {
			var names []string
			for _, s := range club.Specs() {
				names = append(names, string(s))
			}
			return nil, fmt.Errorf("%s: no such figure: use one of %s", where, strings.Join(names, ", "))
		}
		if clubs[name] == nil {
			clubs[name] = &pair{map[club.Spec]float64{}, map[club.Spec]float64{}}
			order = append(order, name)
		}
		for column, side := range map[string]map[club.Spec]float64{"wanted": clubs[name].wanted, "built": clubs[name].built} {
			if !r[column].Known {
				continue
			}
			if _, twice := side[spec]; twice {
				return nil, fmt.Errorf("%s: there twice: keep one row", where)
			}
			v, err := parseFigure(spec, r[column].Text)
			if err != nil {
				return nil, fmt.Errorf("%s, %s: %w", where, column, err)
			}
			side[spec] = v
		}
	}
	out := []finishJSON{}
	for _, name := range order {
		finish, err := club.CheckBuild(clubs[name].wanted, clubs[name].built, tol)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", name, err)
		}
		for _, f := range finish {
			u := unit.Stored(specQuantity[f.Spec])
			if f.Spec == club.SpecSwingWeight {
				u = "points"
			}
			out = append(out, finishJSON{name, string(f.Spec), u, f.Wanted, f.Built, f.Off, f.Tolerance, f.Within})
		}
	}
	return out, nil
}

func parseFigure(s club.Spec, text string) (float64, error) {
	if s == club.SpecSwingWeight {
		v, err := club.ParseSwingWeight(text)
		return float64(v), err
	}
	return unit.Parse(specQuantity[s], text)
}
