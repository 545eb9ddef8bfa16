package rolling

import (
	"fmt"
	"io"
	"strings"
	"text/tabwriter"
)

// WriteText writes the state of a bay for a terminal: session, trials, what
// differs, last shots.
func (s *State) WriteText(to io.Writer) error {
	w := tabwriter.NewWriter(to, 0, 4, 2, ' ', 0)
	if s.Session == nil {
		fmt.Fprintf(w, "bay %s: no session yet\n", s.Bay)
		return w.Flush()
	}
	state := "open"
	if !s.Session.Open {
		state = "closed"
	} else if s.Now.Paused {
		state = "paused"
	}
	fmt.Fprintf(w, "bay %s: session %s, player %s, %s, %s-handed, %s, %d shots count\n", s.Bay, s.Session.ID, s.Session.Player,
		s.Session.Category, s.Session.Hand, state, s.Session.N)
	s.writeTrials(w)
	w.Flush()
	s.writeComparisons(w)
	if s.Suspicion != nil {
		fmt.Fprintf(w, "\n%s Shots %v; to move them: fairlead visit move --bay %s %s --to %s\n", s.Suspicion.Text, s.Suspicion.Numbers, s.Bay,
			strings.Join(s.Suspicion.Shots, " "), s.Suspicion.To)
	}
	if n := len(s.Shots); n > 0 {
		fmt.Fprintln(w, "\nshot\ttrial\tcarry m\toffline m\tball m/s\tstatus")
		for _, x := range s.Shots[max(n-10, 0):] {
			fmt.Fprintf(w, "%d\t%d\t%s\t%s\t%s\t%s\n", x.Number, x.TrialNo, valueText(x, "carry_m"), valueText(x, "offline_m"),
				valueText(x, "ball_speed_mps"), strings.TrimSpace(x.Status+" "+x.Reason))
		}
	}
	return w.Flush()
}

func (s *State) writeTrials(w io.Writer) {
	fmt.Fprintln(w, "\ntrial\tid\tbuild\tshots\tcarry m\tlaunch deg\tspin rpm\tlanding deg\tjudged by")
	for _, t := range s.Trials {
		number := fmt.Sprint(t.Number)
		if t.Parts > 1 {
			number += fmt.Sprintf(".%d", t.Part)
		}
		if t.Running {
			number += " *"
		}
		name := t.Name
		if t.Gamer {
			name += " (gamer)"
		}
		var judged []string
		for _, p := range t.Primary {
			judged = append(judged, p.Name+" "+statText(p.Stat))
		}
		mean := func(column string, digits int) string {
			if m, ok := t.Fields[column]; ok {
				return fmt.Sprintf("%.*f", digits, m.Mean)
			}
			return "-"
		}
		carry := "-"
		if t.Carry != nil && t.Landing > 0 {
			carry = statText(*t.Carry)
		}
		fmt.Fprintf(w, "%s\t%s\t%s\t%d\t%s\t%s\t%s\t%s\t%s\n", number, t.ID, name, t.N, carry, mean("launch_angle_deg", 1),
			mean("spin_rate_rpm", 0), mean("landing_angle_deg", 1), strings.Join(judged, ", "))
	}
}

func (s *State) writeComparisons(w *tabwriter.Writer) {
	for _, k := range s.Comparisons {
		fmt.Fprintf(w, "\n%s against %s", k.Name, k.AgainstOf)
		if k.Class != "" {
			fmt.Fprintf(w, ", %s", k.Swing())
		}
		switch {
		case k.Blocked != "":
			fmt.Fprintf(w, ": %s\n", k.Blocked)
			continue
		case k.Confounded:
			fmt.Fprint(w, ": club and swing changed together, hit the incumbent again")
		}
		fmt.Fprintln(w)
		for _, o := range k.Outcomes {
			if o.NotYet {
				fmt.Fprintf(w, "  %s\tnot yet: %s\n", o.Name, o.Why)
				continue
			}
			fmt.Fprintf(w, "  %s\t%+.3g %s (%+.3g to %+.3g)\todds better %.0f %%\t%s\n", o.Name, o.Change, o.Unit, o.Low, o.High, 100*o.ProbBetter,
				o.Verdict)
		}
		w.Flush()
	}
}

func statText(s Stat) string {
	switch {
	case s.NotYet && s.More > 0:
		return fmt.Sprintf("not yet, %d more", s.More)
	case s.NotYet:
		return "not yet"
	}
	return fmt.Sprintf("%.1f (%.1f to %.1f)", s.Value, s.Low, s.High)
}

func valueText(s ShotRow, column string) string {
	if v, ok := s.Values[column]; ok {
		return fmt.Sprintf("%.1f", v)
	}
	return "-"
}
