package fleet

import (
	"fmt"
	"io"
	"text/tabwriter"
	"time"

	"fairlead/dashboards/figure"
	"fairlead/processors/ask/answers"
	"fairlead/processors/golf/fleet"
)

// WriteEffects writes an answer for a terminal: what was found in sentences, then
// size, evidence and margin of every step, then how each depends on the swing.
// over, which may be empty, shows the steps along one trait besides.
func WriteEffects(out io.Writer, s *answers.Stored, over string, u figure.Units) error {
	fmt.Fprintln(out, s.Title())
	fmt.Fprintf(out, "answer %s, model %s, asked %s\n", s.ID, s.Model, s.Asked.UTC().Format("2006-01-02 15:04 UTC"))
	WriteMark(out, s.Mark)
	if s.Refused != "" {
		fmt.Fprintf(out, "\nNot enough to say (%d trials of %d players): %s\n", s.Trials, s.Players, s.Refused)
		return nil
	}
	w := wordsFor(s, u)
	fmt.Fprintf(out, "%d trials asked about, %d players\n\nFindings\n", s.Trials, s.Players)
	said, err := s.Answer.Findings(fleet.Person{})
	if err != nil {
		return err
	}
	if len(said) == 0 {
		fmt.Fprintln(out, "  none: nothing stands out of what was looked at")
	}
	for _, f := range said {
		fmt.Fprintf(out, "  %s\n", w.Headline(f))
	}
	if err := w.steps(out, s); err != nil {
		return err
	}
	if err := w.choices(out, s); err != nil {
		return err
	}
	if err := w.dependences(out, s); err != nil {
		return err
	}
	if over != "" {
		if err := w.along(out, s, over); err != nil {
			return err
		}
	}
	fmt.Fprintln(out)
	WriteNotes(out, s.Answer.Notes)
	for _, d := range s.Diagnostics {
		if d.Fired {
			fmt.Fprintf(out, "distrust (%s): %s\n", d.Code, d.Text)
		}
	}
	return nil
}

// WriteMark says what data an answer is of, and how old they are.
func WriteMark(w io.Writer, m answers.Mark) {
	fmt.Fprintf(w, "data: %d trials, %d shots of %d players, up to %s%s\n", m.Trials, m.Shots, m.Players,
		m.Inserted.UTC().Format("2006-01-02 15:04:05 UTC"), m.Age(time.Now()))
	if text := m.OtherFlight(); text != "" {
		fmt.Fprintln(w, "distrust (flight_model):", text)
	}
}

// WriteNotes says what was changed about a question.
func WriteNotes(w io.Writer, notes []fleet.Warning) {
	for _, n := range notes {
		fmt.Fprintln(w, "note:", n.Text)
	}
}

func (w words) margin(v fleet.Verdict) string {
	text := v.Margin
	for _, c := range v.Close {
		if c == "margin" {
			text += ", close"
		}
	}
	return text
}

func (w words) evidence(v fleet.Verdict) string {
	text := v.Evidence
	for _, c := range v.Close {
		if c == "evidence" {
			text += ", close"
		}
	}
	return text
}

func (w words) steps(out io.Writer, s *answers.Stored) error {
	effects, err := s.Answer.Effects(fleet.Person{})
	if err != nil {
		return err
	}
	fmt.Fprintf(out, "\nOne step for the average player, by those who tried it, and what order in the session does\n")
	t := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprintf(t, "step\tsize\t95 %% interval\tnext player\tevidence\tadjusted p\tmargin of %s\tgain\tplayers\n",
		w.unit().Text(w.turn(s.Answer.Outcome.Margin)))
	for _, e := range effects {
		if e.Trait != "" {
			continue // below
		}
		next, gain := "–", "–"
		if e.PILow != nil {
			next = w.Range(*e.PILow, *e.PIHigh)
		}
		if e.Gain != nil {
			gain = fmt.Sprintf("%.0f %%", 100**e.Gain)
		}
		fmt.Fprintf(t, "%s\t%s\t%s\t%s\t%s\t%.2g\t%s\t%s\t%d\n", e.Step, w.Change(e.Change), w.Range(e.Low, e.High), next, w.evidence(e.Verdict),
			e.Q, w.margin(e.Verdict), gain, e.Players)
	}
	return t.Flush()
}

// choices holds what was drawn by lot against what was chosen, where enough drew, and
// says how strong a reason nobody noted must be.
func (w words) choices(out io.Writer, s *answers.Stored) error {
	effects, err := s.Answer.Effects(fleet.Person{})
	if err != nil {
		return err
	}
	fmt.Fprintf(out, "\nBy lot and by choice: does a step do as much to whom the lot gave it as to whom somebody chose it for?\n")
	t := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "step\tby lot\tplayers\tby choice\tplayers\tlot less choice\tstandard error\tadjusted p\t"+
		"a hidden reason explains it from\tsaid by")
	for _, e := range effects {
		if e.Attribute == "" || e.Trait != "" {
			continue
		}
		reason := share(e.Hidden)
		if e.Choice == nil {
			fmt.Fprintf(t, "%s\t–\t–\t–\t–\t–\t–\t–\t%s\t%s\n", e.Step, reason, w.SaidBy(e))
			continue
		}
		c := w.Contrast(e)
		fmt.Fprintf(t, "%s\t%s\t%d\t%s\t%d\t%s\t%s\t%s\t%s\t%s\n", e.Step, c.Lot, e.Choice.Lot.Players, c.Chosen, e.Choice.Chosen.Players,
			c.Difference, c.SE, odds(e.Choice.Q), reason, w.SaidBy(e))
	}
	return t.Flush()
}

func (w words) dependences(out io.Writer, s *answers.Stored) error {
	all, err := s.Answer.Dependences(fleet.Person{})
	if err != nil || len(all) == 0 {
		return err
	}
	fmt.Fprintf(out, "\nDependence on the swing: one step at the 10th, 50th and 90th percentile of a trait\n")
	t := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "step\tby\tlow\tmiddle\thigh\tspan\tevidence\tadjusted p\tmargin\tfor whom")
	for _, d := range all {
		a, _ := fleet.ParseAttribute(d.Attribute)
		fmt.Fprintf(t, "%s\t%s\t", a.StepText(), answers.TraitTitle(d.Trait))
		for _, c := range d.Ends {
			fmt.Fprintf(t, "%s: %s\t", w.Trait(d.Trait, c.At), w.Change(c.Effect.Change))
		}
		fmt.Fprintf(t, "%s\t%s\t%.2g\t%s\t%s\n", w.Range(d.SpanLow, d.SpanHigh), w.evidence(d.Verdict), d.Q, w.margin(d.Verdict), w.Pays(d))
	}
	return t.Flush()
}

func (w words) along(out io.Writer, s *answers.Stored, over string) error {
	cells, err := s.Cells(over, answers.MapAt)
	if err != nil {
		return err
	}
	fmt.Fprintf(out, "\nby %s\n", answers.TraitTitle(over))
	t := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	for _, c := range cells {
		e := c.Effect
		fmt.Fprintf(t, "%s\t%s\t%s\t%s\t%s\t%s\n", e.Step, w.Trait(over, c.At), w.Change(e.Change), w.Range(e.Low, e.High), w.evidence(e.Verdict),
			w.margin(e.Verdict))
	}
	return t.Flush()
}
