package club

import (
	"fmt"
	"io"
	"strings"
	"text/tabwriter"

	"fairlead/ingest/contract/glossary"
	"fairlead/ingest/contract/unit"
)

// accountRung is one club of it; Head, Swing and Inertia where heads were matched.
type accountRung struct {
	Club     string   `json:"club"`
	Category string   `json:"category"`
	Length   float64  `json:"length_m"`
	Loft     float64  `json:"usual_loft_deg"`
	Head     *float64 `json:"head_kg,omitempty"`
	Swing    string   `json:"swing_weight,omitempty"`
	Inertia  *float64 `json:"inertia_butt_kgm2,omitempty"`
}

// accountStep is one step of a real set against the wanted one.
type accountStep struct {
	From   string  `json:"from"`
	To     string  `json:"to"`
	Wanted float64 `json:"wanted_m"`
	Real   float64 `json:"measured_m"`
	Off    float64 `json:"off_m"`
	Within bool    `json:"within"`
}

// LadderAccount is a ladder of lengths as it is told.
type LadderAccount struct {
	Rungs []accountRung `json:"rungs"`
	Steps []accountStep `json:"steps,omitempty"`
}

// matched fills the heads of irons and wedges so that they feel like the model 7-iron.
func (o LadderAccount) matched(rungs []Rung, model Club, by MatchBy) error {
	var irons []Rung
	for _, r := range rungs {
		if r.Name == "7i" {
			model.Length = r.Length
		}
		if r.Category == glossary.Iron || r.Category == glossary.Wedge {
			irons = append(irons, r)
		}
	}
	rows, err := MatchHeads(irons, model, by)
	if err != nil {
		return err
	}
	for _, row := range rows {
		for i := range o.Rungs {
			if o.Rungs[i].Club == row.Name {
				o.Rungs[i].Head, o.Rungs[i].Swing, o.Rungs[i].Inertia = &row.HeadMass, row.Heft.SwingWeight.String(), &row.Heft.Inertia
			}
		}
	}
	return nil
}

// WriteText writes the ladder as a table.
func (o LadderAccount) WriteText(w io.Writer) error {
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprint(t, "club\tlength in\tlength m\tusual loft\thead g\tswing weight\tinertia kg·cm²\n")
	for _, r := range o.Rungs {
		fmt.Fprintf(t, "%s\t%.2f\t%.4f\t%.1f°", r.Club, r.Length/Inch, r.Length, r.Loft)
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
			fmt.Fprintf(t, "%s–%s\t%.3f\t%.3f\t%+.3f\t%s\n", s.From, s.To, s.Wanted/Inch, s.Real/Inch, s.Off/Inch, word)
		}
	}
	if err := t.Flush(); err != nil {
		return fmt.Errorf("write ladder: %w", err)
	}
	return nil
}

// LadderQuestion is what is asked of a ladder.
type LadderQuestion struct {
	Spec      LadderSpec
	Match     MatchBy // "" for lengths alone
	Model     Club    // the 7-iron that the others shall feel like
	Measured  map[string]float64
	Tolerance float64 // of a measured step, m
}

// TellLadder answers it.
func TellLadder(q LadderQuestion) (LadderAccount, error) {
	var out LadderAccount
	rungs, err := Ladder(q.Spec)
	if err != nil {
		return out, err
	}
	for _, r := range rungs {
		out.Rungs = append(out.Rungs, accountRung{Club: r.Name, Category: string(r.Category), Length: r.Length, Loft: r.Loft})
	}
	if q.Match != "" {
		if err := out.matched(rungs, q.Model, q.Match); err != nil {
			return out, err
		}
	}
	if len(q.Measured) > 0 {
		steps, err := CheckSteps(rungs, q.Measured, q.Tolerance)
		if err != nil {
			return out, err
		}
		for _, s := range steps {
			out.Steps = append(out.Steps, accountStep(s))
		}
	}
	return out, nil
}

// ParseLengths reads CLUB=LENGTH pairs.
func ParseLengths(pairs []string) (map[string]float64, error) {
	out := map[string]float64{}
	for _, p := range pairs {
		name, text, ok := strings.Cut(p, "=")
		if !ok {
			return nil, fmt.Errorf("%q: write a club and its length, such as 7i=37.25in", p)
		}
		v, err := unit.Parse(unit.Length, text)
		if err != nil {
			return nil, fmt.Errorf("%q: %w", p, err)
		}
		out[strings.TrimSpace(name)] = v
	}
	return out, nil
}
