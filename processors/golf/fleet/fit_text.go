package fleet

import (
	"fmt"
	"io"
	"math"
	"text/tabwriter"
)

// Refusal is the JSON of a question that the data cannot answer.
type Refusal struct {
	Terms    []Estimate `json:"terms"`
	Error    string     `json:"error"`
	Blamed   []string   `json:"blamed"`
	Warnings []Warning  `json:"warnings"`
}

// Refuse is the refusal of a model that could not be fitted.
func Refuse(m *ModelError, text string, notes []Warning) Refusal {
	return Refusal{Terms: []Estimate{}, Error: text, Blamed: m.Terms, Warnings: append([]Warning{}, notes...)}
}

// WriteText shows a fit for people.
func (f *Fit) WriteText(w io.Writer) error {
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(t, "term\testimate\tse\t95 % interval\tnext player\tp\t")
	for _, e := range f.Terms {
		next := "–"
		if e.PILow != nil {
			next = fmt.Sprintf("%.4g … %.4g", *e.PILow, *e.PIHigh)
		}
		fmt.Fprintf(t, "%s\t%.5g\t%.4g\t%.4g … %.4g\t%s\t%.3g\t\n", e.Name, e.Value, e.SE, e.CILow, e.CIHigh, next, e.P)
	}
	if err := t.Flush(); err != nil {
		return err
	}
	fmt.Fprintf(w, "\ntrial noise τ² %.5g (sd %.4g)\n", f.Tau2, math.Sqrt(f.Tau2))
	for i, r := range f.Random {
		fmt.Fprintf(w, "slope of %s varies between players with sd %.4g", r.Name, r.SD)
		for k := 0; k < i; k++ {
			if f.RandomCor[i][k] != 0 {
				fmt.Fprintf(w, ", correlation with %s %.3f", f.Random[k].Name, f.RandomCor[i][k])
			}
		}
		fmt.Fprintln(w)
	}
	for _, c := range f.Crossed {
		fmt.Fprintf(w, "%s: %d levels differ with sd %.4g beyond the rest\n", c.Name, c.Levels, c.SD)
	}
	fmt.Fprintf(w, "log likelihood %.4f, REML criterion %.4f; %d rows, %d players, %d sessions\n", f.LogLik, f.REML, f.K, f.Players,
		f.Sessions)
	for _, n := range f.Warnings {
		fmt.Fprintln(w, "note:", n.Text)
	}
	return nil
}
