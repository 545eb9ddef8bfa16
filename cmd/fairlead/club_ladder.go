package main

import (
	"fmt"
	"io"
	"strings"
	"text/tabwriter"

	"fairlead/ingest/contract/glossary"
	"fairlead/ingest/contract/unit"
	"fairlead/processors/golf/club"

	"github.com/spf13/cobra"
)

type rungJSON struct {
	Club     string   `json:"club"`
	Category string   `json:"category"`
	Length   float64  `json:"length_m"`
	Loft     float64  `json:"usual_loft_deg"`
	Head     *float64 `json:"head_kg,omitempty"`
	Swing    string   `json:"swing_weight,omitempty"`
	Inertia  *float64 `json:"inertia_butt_kgm2,omitempty"`
}

type stepJSON struct {
	From   string  `json:"from"`
	To     string  `json:"to"`
	Wanted float64 `json:"wanted_m"`
	Real   float64 `json:"measured_m"`
	Off    float64 `json:"off_m"`
	Within bool    `json:"within"`
}

type ladderJSON struct {
	Rungs []rungJSON `json:"rungs"`
	Steps []stepJSON `json:"steps,omitempty"`
}

func newClubLadderCommand() *cobra.Command {
	var asJSON bool
	var fixed, measured []string
	var match string
	c := &cobra.Command{
		Use:   "ladder",
		Short: "Lengths through a set from the clubs that were fitted, with heads matched to them",
		Long: `Lengths through a set. Without flags it is the trade's usual ladder (a habit,
not a norm). --fit CLUB=LENGTH fixes a fitted club and moves its family with
it; between two fitted clubs lengths run straight. --match gives the head
masses that hold swing weight or inertia through the irons and wedges, from
the model 7-iron of --head, --shaft and --grip. --measured CLUB=LENGTH checks
a real set's steps.`,
		Example: `  fairlead club ladder --fit 7i=37.25in
  fairlead club ladder --fit 7i=37.25in --match swingweight --head 270g --shaft 115g --grip 50g
  fairlead club ladder --measured 6i=37.5in --measured 7i=37in --measured 8i=36.25in`,
		Args: noClubArgs,
	}
	f := clubFlags{c}
	step := f.add(unit.Length, "step", 0.5*club.Inch, "step from iron to iron")
	tolerance := f.add(unit.Length, "tolerance", club.Inch/16, "how far a measured step may be off")
	head := f.add(unit.Mass, "head", 0.270, "head mass of the model 7-iron")
	shaft := f.add(unit.Mass, "shaft", 0.115, "shaft mass of the model 7-iron, as cut")
	grip := f.add(unit.Mass, "grip", 0.050, "grip mass")
	c.Flags().StringArrayVar(&fixed, "fit", nil, "a fitted club and its length, such as 7i=37.25in (repeatable)")
	c.Flags().StringArrayVar(&measured, "measured", nil, "a real club and its length (repeatable)")
	c.Flags().StringVar(&match, "match", "", "match heads by swingweight or inertia")
	c.Flags().BoolVar(&asJSON, "json", false, "write one JSON object")
	c.RunE = func(c *cobra.Command, _ []string) error {
		spec := club.LadderSpec{}
		if step.Given {
			spec.IronStep = step.V
		}
		var err error
		if spec.Lengths, err = clubLengths("--fit", fixed); err != nil {
			return err
		}
		real, err := clubLengths("--measured", measured)
		if err != nil {
			return err
		}
		rungs, err := club.Ladder(spec)
		if err != nil {
			return clubUse(err)
		}
		var out ladderJSON
		for _, r := range rungs {
			out.Rungs = append(out.Rungs, rungJSON{Club: r.Name, Category: string(r.Category), Length: r.Length, Loft: r.Loft})
		}
		if match != "" {
			model := club.Club{HeadMass: head.V, ShaftMass: shaft.V, GripMass: grip.V}
			if err := matchRungs(out.Rungs, rungs, model, club.MatchBy(match)); err != nil {
				return clubUse(err)
			}
		}
		if len(real) > 0 {
			steps, err := club.CheckSteps(rungs, real, tolerance.V)
			if err != nil {
				return clubUse(err)
			}
			for _, s := range steps {
				out.Steps = append(out.Steps, stepJSON(s))
			}
		}
		if asJSON {
			return writeClubJSON(c.OutOrStdout(), out)
		}
		return printLadder(c.OutOrStdout(), out)
	}
	return c
}

// clubLengths reads CLUB=LENGTH pairs.
func clubLengths(flag string, pairs []string) (map[string]float64, error) {
	out := map[string]float64{}
	for _, p := range pairs {
		name, text, ok := strings.Cut(p, "=")
		if !ok {
			return nil, &usageError{fmt.Errorf("%s %q: write a club and its length, such as 7i=37.25in", flag, p)}
		}
		v, err := unit.Parse(unit.Length, text)
		if err != nil {
			return nil, &usageError{fmt.Errorf("%s %q: %w", flag, p, err)}
		}
		out[strings.TrimSpace(name)] = v
	}
	return out, nil
}

// matchRungs fills the heads of irons and wedges so that they feel like the model 7-iron.
func matchRungs(out []rungJSON, rungs []club.Rung, model club.Club, by club.MatchBy) error {
	var irons []club.Rung
	for _, r := range rungs {
		if r.Name == "7i" {
			model.Length = r.Length
		}
		if r.Category == glossary.Iron || r.Category == glossary.Wedge {
			irons = append(irons, r)
		}
	}
	rows, err := club.MatchHeads(irons, model, by)
	if err != nil {
		return err
	}
	for _, row := range rows {
		for i := range out {
			if out[i].Club == row.Name {
				out[i].Head, out[i].Swing, out[i].Inertia = &row.HeadMass, row.Heft.SwingWeight.String(), &row.Heft.Inertia
			}
		}
	}
	return nil
}

func printLadder(w io.Writer, o ladderJSON) error {
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprint(t, "club\tlength in\tlength m\tusual loft\thead g\tswing weight\tinertia kg·cm²\n")
	for _, r := range o.Rungs {
		fmt.Fprintf(t, "%s\t%.2f\t%.4f\t%.1f°", r.Club, r.Length/club.Inch, r.Length, r.Loft)
		if r.Head != nil {
			fmt.Fprintf(t, "\t%.1f\t%s\t%.0f", *r.Head*1e3, r.Swing, *r.Inertia*1e4)
		} else {
			fmt.Fprint(t, "\t\t\t")
		}
		fmt.Fprintln(t)
	}
	if len(o.Steps) > 0 {
		fmt.Fprint(t, "\nstep\twanted in\tmeasured in\toff in\t\n")
		for _, s := range o.Steps {
			word := "in step"
			if !s.Within {
				word = "OUT OF STEP"
			}
			fmt.Fprintf(t, "%s–%s\t%.3f\t%.3f\t%+.3f\t%s\n", s.From, s.To, s.Wanted/club.Inch, s.Real/club.Inch, s.Off/club.Inch, word)
		}
	}
	if err := t.Flush(); err != nil {
		return fmt.Errorf("write ladder: %w", err)
	}
	return nil
}
