package club

import (
	"fmt"
	"io"
	"text/tabwriter"
)

// WriteFinished writes the figures of finished clubs as a table.
func WriteFinished(w io.Writer, list []FinishAccount) error {
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprint(t, "club\tfigure\twanted\tbuilt\toff\ttolerance\t\n")
	for _, f := range list {
		word := "within"
		if !f.Within {
			word = "OUT"
		}
		fmt.Fprintf(t, "%s\t%s\t%s\t%s\t%+.4g %s\t±%.4g %s\t%s\n", f.Club, f.Figure, f.text(f.Wanted), f.text(f.Built),
			f.Off, f.Unit, f.Tolerance, f.Unit, word)
	}
	return t.Flush()
}

// Outside counts the figures that are out of tolerance.
func Outside(list []FinishAccount) int {
	n := 0
	for _, f := range list {
		if !f.Within {
			n++
		}
	}
	return n
}

// text writes a value of the figure as the trade does.
func (f FinishAccount) text(v float64) string {
	if f.Figure == string(SpecSwingWeight) {
		return SwingWeight(v).String()
	}
	return fmt.Sprintf("%.5g %s", v, f.Unit)
}
