package profile

import (
	"fmt"
	"io"
	"math"
	"strings"
	"text/tabwriter"

	"fairlead/processors/golf/club"
)

// WriteText tells of a profile in words.
func (p Profile) WriteText(w io.Writer) error {
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprint(t, "\tn\tmean\t95 % interval\tshot to shot\tin words\n")
	for _, e := range p.All() {
		name := strings.ReplaceAll(string(e.Term), "_", " ")
		if !e.Known {
			fmt.Fprintf(t, "%s\t%d\tnot yet: %d more\t\t\t\n", name, e.N, e.More)
			continue
		}
		low, high := e.Interval(0.95)
		scatter := ""
		if e.Term != StrikeScatter {
			scatter = "± " + Figure(e.Term, e.SD)
		}
		best, _ := p.Likeliest(e.Term)
		fmt.Fprintf(t, "%s\t%d\t%s\t%s to %s\t%s\t%s (%.0f %%)\n", name, e.N, Figure(e.Term, e.Mean), Figure(e.Term, low), Figure(e.Term, high),
			scatter, best.Name, 100*best.Prob)
	}
	if err := t.Flush(); err != nil {
		return fmt.Errorf("write profile: %w", err)
	}
	if p.Left {
		fmt.Fprintln(w, "left-handed: path, face and face to path are mirrored")
	}
	if p.Reference != nil {
		fmt.Fprintf(w, "adjusted to a club of %.2f in, %.1f° loft, %.1f° lie\n", p.Reference.Length.V/club.Inch, p.Reference.Loft.V,
			p.Reference.Lie.V)
	}
	for _, s := range p.Suspects {
		fmt.Fprintf(w, "shot %d stands off: %s %s, the others around %s (kept)\n", s.Shot+1, s.Term, Figure(s.Term, s.Value),
			Figure(s.Term, s.Median))
	}
	for _, n := range p.Notes {
		fmt.Fprintln(w, n)
	}
	return nil
}

// Figure writes a value of a term as people read it.
func Figure(t Term, v float64) string {
	switch t.Unit() {
	case "m/s":
		return fmt.Sprintf("%.1f m/s", v)
	case "deg":
		return fmt.Sprintf("%.1f°", v)
	case "m":
		return fmt.Sprintf("%.1f mm", v*1e3)
	}
	return fmt.Sprintf("%.2f", v)
}

// WriteChanges tells of what changed in words.
func WriteChanges(w io.Writer, changes []Change, read []Implication, set Setting) error {
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprint(t, "\tbefore\tafter\tchange\t95 % interval\ttold from\tverdict\n")
	for _, c := range changes {
		name := strings.ReplaceAll(string(c.Term), "_", " ")
		switch {
		case c.More > 0:
			fmt.Fprintf(t, "%s\t\t\t\t\t\t%s: %d more shots\n", name, c.Verdict, c.More)
		case c.Term == StrikeScatter:
			fmt.Fprintf(t, "%s\t%s\t%s\t%+.0f %%\t%+.0f to %+.0f %%\t%+.0f %%\t%s\n", name, Figure(c.Term, c.Before.Mean),
				Figure(c.Term, c.After.Mean), 100*(c.Ratio-1), percent(c.Low), percent(c.High), percent(c.Told), c.Verdict)
		default:
			fmt.Fprintf(t, "%s\t%s\t%s\t%s\t%s to %s\t%s\t%s\n", name, Figure(c.Term, c.Before.Mean), Figure(c.Term, c.After.Mean),
				Figure(c.Term, c.Diff), Figure(c.Term, c.Low), Figure(c.Term, c.High), Figure(c.Term, c.Told), c.Verdict)
		}
	}
	if err := t.Flush(); err != nil {
		return fmt.Errorf("write changes: %w", err)
	}
	fmt.Fprintln(w, "told from: a change of this size, either way, would be told in four of five such comparisons")
	if set == (Setting{}) {
		fmt.Fprintln(w, "ball, surface and device are taken to be the same; say --differs where they were not")
	}
	for _, r := range read {
		fmt.Fprintf(w, "\n%s\n  Test: %s\n", r.Text, r.Try)
	}
	return nil
}

// percent is a change of a logarithm in percent.
func percent(ln float64) float64 { return 100 * (math.Exp(ln) - 1) }
