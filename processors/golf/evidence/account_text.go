package evidence

import (
	"fmt"
	"io"
	"math"
	"strings"
	"text/tabwriter"

	"fairlead/ingest/contract/glossary"
)

// ChangeText writes a change in words a person uses: tightness in percent,
// strike in mm.
func ChangeText(n glossary.Name, v float64) string {
	switch {
	case n.Tightness():
		return fmt.Sprintf("%+.0f %%", 100*math.Expm1(v))
	case n == glossary.Strike:
		return fmt.Sprintf("%+.1f mm", 1000*v)
	case n == glossary.Skid:
		return fmt.Sprintf("%+.0f %%", 100*v)
	case n == glossary.Spin:
		return fmt.Sprintf("%+.0f rpm", v)
	case n.Unit() == "deg":
		return fmt.Sprintf("%+.1f°", v)
	}
	return fmt.Sprintf("%+.1f %s", v, n.Unit())
}

// PlainName writes an outcome's name as people say it.
func PlainName(n glossary.Name) string {
	name := strings.ReplaceAll(string(n), "_", " ")
	switch n {
	case glossary.Direction:
		return "direction, spread"
	case glossary.Area:
		return "area of the scatter"
	case glossary.Strike:
		return "strike off centre"
	case glossary.Start:
		return "start direction"
	}
	return name
}

// OddsText writes odds without claiming certainty.
func OddsText(p float64) string {
	switch {
	case p > 0.99:
		return "over 99 %"
	case p < 0.01:
		return "under 1 %"
	}
	return fmt.Sprintf("%.0f %%", 100*p)
}

// GoalText says what counts as better.
func GoalText(g glossary.Goal) string {
	text := string(g.Way)
	if g.Way == glossary.Toward {
		text = fmt.Sprintf("near %g", g.Target)
	}
	if g.Assumed {
		text += " (assumed)"
	}
	return text
}

// NeededText says how many shots are still needed.
func NeededText(o Statement) string {
	switch {
	case o.NotYet && o.More > 0:
		return fmt.Sprintf("%d more shots before anything can be said", o.More)
	case o.Why != "":
		return o.Why
	case o.Verdict != CannotTell:
		return ""
	case o.Needed.P50 < 0:
		return fmt.Sprintf("more than %d shots: not a matter for this session", MostShots)
	case o.Needed.P90 < 0:
		return fmt.Sprintf("about %d shots, perhaps more than %d", o.Needed.P50, MostShots)
	}
	return fmt.Sprintf("about %d shots, perhaps %d", o.Needed.P50, o.Needed.P90)
}

// WriteText tells of a comparison in words; j is its account.
func WriteText(out io.Writer, r Report, plan Plan, j Account) error {
	w := tabwriter.NewWriter(out, 0, 4, 2, ' ', 0)
	fmt.Fprintln(w, "outcome\tchange\t95 % interval\tbetter is\todds better\tverdict\tstill needed, both clubs")
	weak := false
	for _, o := range r.Outcomes {
		if o.NotYet && o.NBaseline+o.NCandidate == 0 {
			continue // not measured
		}
		if o.NotYet {
			fmt.Fprintf(w, "%s\t\t\t%s\t\t%s\t%s\n", PlainName(o.Name), GoalText(o.Goal), o.Verdict, NeededText(o))
			continue
		}
		weak = weak || strings.HasPrefix(o.Prior.Source, "weak")
		fmt.Fprintf(w, "%s\t%s\t%s to %s\t%s\t%s\t%s\t%s\n", PlainName(o.Name), ChangeText(o.Name, o.Change),
			ChangeText(o.Name, o.Low), ChangeText(o.Name, o.High), GoalText(o.Goal), OddsText(o.ProbBetter), o.Verdict, NeededText(o))
	}
	if err := w.Flush(); err != nil {
		return fmt.Errorf("write: %w", err)
	}
	if r.Trade != nil {
		fmt.Fprintf(out, "trade: %s\n", r.Trade.Statement)
	}
	if r.Strokes != nil {
		fmt.Fprintf(out, "in strokes: %s\n", r.Strokes.Says(func(m float64) string { return fmt.Sprintf("%.0f m", m) }))
	}
	for _, l := range r.Order.Left {
		fmt.Fprintf(out, "left out: %d shots of %s (%s)\n", l.Shots, l.Trial, l.Why)
	}
	for _, d := range j.Doubts {
		fmt.Fprintf(out, "note: %s\n", d)
	}
	if j.ProbTighter != nil {
		fmt.Fprintf(out, "odds that the true area is smaller, under the prior given: %s\n", OddsText(*j.ProbTighter))
	}
	if weak {
		fmt.Fprintln(out, "prior: weak (no effect on average; of a spread three changes in four are small) where none was given")
	}
	if plan.Done != "" {
		fmt.Fprintf(out, "next: %s\n", plan.Done)
	}
	for i, b := range plan.Blocks {
		fmt.Fprintf(out, "next %d: %d shots with %s: %s\n", i+1, b.Shots, b.Build, b.Why)
	}
	return nil
}
