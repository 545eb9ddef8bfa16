package club

import (
	"fmt"
	"io"
	"text/tabwriter"

	"fairlead/ingest/contract/unit"
)

// WriteText tells of a gapped bag in words.
func (g Gapping) WriteText(w io.Writer, show unit.Shown) error {
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprint(t, "club\tn\tcarry\t± shot to shot\tgap below\tinterval\tverdict\tshots more\n")
	rows := func(ps []Position, gaps []Gap) {
		for i, p := range ps {
			fmt.Fprintf(t, "%s\t%d\t%s", p.Name(), p.Carry.N, show.Distance(p.Carry.Mean))
			if p.Carry.N >= 2 {
				fmt.Fprintf(t, "\t%s", show.Distance(p.Carry.SD))
			} else {
				fmt.Fprint(t, "\t")
			}
			if i < len(gaps) {
				gap := gaps[i]
				if gap.Known {
					fmt.Fprintf(t, "\t%s\t%s to %s\t%s", show.Distance(gap.Mean), show.Distance(gap.Low), show.Distance(gap.High), gap.Verdict)
				} else {
					fmt.Fprintf(t, "\t\t\t%s", gap.Verdict)
				}
				if gap.More > 0 {
					fmt.Fprintf(t, "\t%d", gap.More)
				}
			}
			fmt.Fprintln(t)
		}
	}
	rows(g.Full, g.Gaps)
	if len(g.Short) > 0 {
		fmt.Fprint(t, "\nwedge swings\tn\tcarry\t\tgap below\tinterval\tverdict\tshots more\n")
		rows(g.Wedges, g.Short)
	}
	if err := t.Flush(); err != nil {
		return fmt.Errorf("write gapping: %w", err)
	}
	fmt.Fprintln(w)
	for _, gap := range g.Gaps {
		if gap.Advice != "" {
			fmt.Fprintf(w, "%s–%s, %s: %s\n", gap.Longer, gap.Shorter, gap.Verdict, gap.Advice)
		}
	}
	if g.LossPerDegree > 0 {
		fmt.Fprintf(w, "a degree of loft costs %s of carry in this bag's irons and wedges\n", show.Distance(g.LossPerDegree))
	}
	if g.LongestHolding != "" {
		fmt.Fprintf(w, "longest iron that holds a green: %s\n", g.LongestHolding)
	} else {
		fmt.Fprintln(w, "longest iron that holds a green: cannot be said of any yet")
	}
	for _, h := range g.Greens {
		if h.Verdict == CannotTell || h.Verdict == NotYet {
			fmt.Fprintf(w, "%s on a green: %s\n", h.Club, h.Verdict)
		}
	}
	for _, n := range g.Notes {
		fmt.Fprintln(w, n)
	}
	for _, u := range g.Unhit {
		fmt.Fprintf(w, "%s: no carry measured\n", u)
	}
	return nil
}
