package fleet

import (
	"fmt"
	"io"
	"strconv"
	"text/tabwriter"

	"fairlead/processors/ask/answers"
)

// Counsel is advice for one player, of which words name the first Most builds.
type Counsel struct {
	*answers.Counsel
	Most int `json:"-"`
}

// WriteCSV writes a row for each build.
func (c Counsel) WriteCSV(w io.Writer) error {
	var rows [][]string
	for _, s := range c.Advice {
		rows = append(rows, []string{s.Build, s.Name, number(&s.Gain), number(&s.GainLow), number(&s.GainHigh), number(&s.Better),
			number(s.Carry), number(&s.Learn), strconv.Itoa(s.Try), s.Why})
	}
	return writeCSV(w, []string{"build", "name", "gain", "gain_low", "gain_high", "chance_better", "carry_change_m", "worth_trying", "try",
		"why"}, rows)
}

// WriteText says what to hit first, and ranks the builds.
func (c Counsel) WriteText(w io.Writer) error {
	fmt.Fprintf(w, "Player %s, %s, by %s\n", c.Player, c.Category, answers.OutcomeTitle(c.Outcome))
	fmt.Fprintf(w, "from %d players of the fleet (answer %s), a profile of %d shots and %d own trials; own club carries %.0f m\n", c.Fleet,
		c.Answer, c.Shots, c.Own, c.CarryNow)
	for _, n := range c.Notes {
		fmt.Fprintln(w, "note:", n)
	}
	if c.Refused != "" {
		fmt.Fprintln(w, "\nNot enough to say:", c.Refused)
		return nil
	}
	fmt.Fprintln(w, "\nHit first:")
	for _, s := range c.TryNext() {
		fmt.Fprintf(w, "  %d. %s: %s\n", s.Try, s.Name, s.Why)
		for _, e := range s.Evidence {
			fmt.Fprintf(w, "       %s\n", e)
		}
	}
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "\nbuild\texpected gain\tinterval for this player\tbetter\tcarry")
	for i, s := range c.Advice {
		if i == c.Most {
			break
		}
		carry := "–"
		if s.Carry != nil {
			carry = fmt.Sprintf("%+.1f m", *s.Carry)
		}
		fmt.Fprintf(t, "%s\t%+.3g\t%.3g to %.3g\t%.0f %%\t%s\n", s.Name, s.Gain, s.GainLow, s.GainHigh, 100*s.Better, carry)
	}
	if err := t.Flush(); err != nil {
		return err
	}
	fmt.Fprintln(w, "gain: of a spread as a logarithm, 0.10 is about a tenth tighter; of carry in m")
	return nil
}
