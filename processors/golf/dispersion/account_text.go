package dispersion

import (
	"fmt"
	"io"
	"strings"
	"text/tabwriter"

	"fairlead/ingest/contract/unit"
)

// statLine writes a statistic with its interval, or what it still needs.
func statLine(w io.Writer, name string, s Stat, format func(float64) string) {
	switch {
	case s.NotYet && s.More > 0:
		fmt.Fprintf(w, "%s\tnot yet: %d more shots\t\n", name, s.More)
	case s.NotYet:
		fmt.Fprintf(w, "%s\tnot yet: %s\t\n", name, s.Why)
	default:
		fmt.Fprintf(w, "%s\t%s\t%s to %s\n", name, format(s.Value), format(s.Low), format(s.High))
	}
}

func inDegrees(v float64) string { return fmt.Sprintf("%.2f°", v) }

func inPercent(v float64) string { return fmt.Sprintf("%.1f %%", v) }

func inHundred(v float64) string { return fmt.Sprintf("%.0f %%", 100*v) }

// WriteText tells of a run of shots in words.
func (t *Told) WriteText(out io.Writer, show unit.Shown) error {
	s, j := t.Summary, t.Account
	w := tabwriter.NewWriter(out, 0, 4, 2, ' ', 0)
	fmt.Fprintf(w, "%s, %d shots\t\t%.0f %% interval\n", s.Category, s.N, 100*s.Level)
	statLine(w, "carry", s.Carry.Mean, show.Distance)
	statLine(w, "offline", s.Offline.Mean, show.Sided)
	statLine(w, "direction, sd", s.DirectionSDDeg, inDegrees)
	statLine(w, "  at this carry", s.WidthM, show.Distance)
	statLine(w, "carry, sd", s.CarrySDPct, inPercent)
	statLine(w, "  at this carry", s.DepthM, show.Distance)
	statLine(w, "half of shots within", s.R50, show.Distance)
	statLine(w, "95 % of shots within", s.R95, show.Distance)
	statLine(w, "centre from the aim", s.RightOfAim, show.Sided)
	if !s.CarryFromAim.NotYet {
		statLine(w, "  beyond it", s.CarryFromAim, show.Distance)
	}
	for _, m := range s.Misses {
		statLine(w, fmt.Sprintf("%s by more than %s", m.Miss.Side, show.Distance(m.Miss.Beyond)), m.Odds, inHundred)
	}
	for _, g := range s.Targets {
		statLine(w, "on "+g.Target.Name, g.Odds, inHundred)
	}
	statLine(w, "worst tenth beyond", s.WorstTenth.Distance, show.Distance)
	if s.NextShot != nil {
		fmt.Fprintf(w, "next shot, %.0f %%\t%s by %s\tlong axis %s\n", 100*s.NextShot.P, show.Distance(2*s.NextShot.Major),
			show.Distance(2*s.NextShot.Minor), tiltWords(s.NextShot.TiltDeg))
	}
	switch {
	case s.Robust.NotYet && s.Robust.More > 0:
		fmt.Fprintf(w, "mishits\tnot yet: %d more shots\t\n", s.Robust.More)
	case s.Robust.NotYet:
		fmt.Fprintf(w, "mishits\tnot yet: %s\t\n", s.Robust.Why)
	default:
		statLine(w, fmt.Sprintf("mishits, %d of %d", len(s.Robust.Mishits), s.N), s.Robust.MishitRate, inHundred)
	}
	if st := j.Strike; st != nil {
		millimetres := func(v float64) string { return fmt.Sprintf("%.1f mm", 1000*v) }
		statLine(w, "strike toward the toe", st.X, millimetres)
		statLine(w, "strike above centre", st.Y, millimetres)
		statLine(w, "strike off centre", st.OffCentre, millimetres)
		statLine(w, "strike heel to toe, sd", st.SDX, millimetres)
		statLine(w, "strike up and down, sd", st.SDY, millimetres)
	}
	for _, g := range j.Swings {
		statLine(w, fmt.Sprintf("swing %s, %d shots", g.Swing, g.N), g.Carry, show.Distance)
		statLine(w, "  carry, sd", g.CarryPct, inPercent)
	}
	if err := w.Flush(); err != nil {
		return fmt.Errorf("write: %w", err)
	}
	for _, u := range j.Suspects {
		fmt.Fprintf(out, "look at line %d: %s\n", u.Line, u.Reason)
	}
	for _, n := range append(append([]string{}, s.Robust.Changes...), j.Notes...) {
		fmt.Fprintf(out, "note: %s\n", n)
	}
	fmt.Fprintf(out, "%s is judged by %s\n", s.Category, strings.Join(s.Primary, " and "))
	return nil
}

func tiltWords(deg float64) string {
	if deg < 0 {
		return fmt.Sprintf("turned %.0f° to the left", -deg)
	}
	return fmt.Sprintf("turned %.0f° to the right", deg)
}
