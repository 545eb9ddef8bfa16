package fleet

import (
	"fmt"
	"io"
	"strconv"

	"fairlead/dashboards/draw"
	"fairlead/processors/ask/answers"
	"fairlead/processors/golf/fleet"
)

// Against is build against build.
type Against struct{ *answers.Against }

// axisOf says how an outcome's changes are shown: spreads as percent.
func axisOf(o fleet.Outcome) (turn func(float64) float64, unit string, margin float64) {
	if o.Log {
		return o.Percent, "% of the spread", o.Percent(o.Margin)
	}
	return func(x float64) float64 { return x }, o.Unit, o.Margin
}

// Picture draws the interval; nil where there is not enough to say.
func (got Against) Picture() *draw.Picture {
	r := got.Comparison
	if r == nil {
		return nil
	}
	o, _ := fleet.FindOutcome(r.Outcome)
	turn, unit, margin := axisOf(o)
	row := draw.Row{Group: "B less A", Label: "next to each other", Value: turn(r.Change), Low: turn(r.Low), High: turn(r.High),
		Kind: r.Kind(), Says: r.Text(), Players: r.Players, Pairs: r.Levels}
	if r.PILow != nil && r.PIHigh != nil {
		low, high := turn(*r.PILow), turn(*r.PIHigh)
		row.PILow, row.PIHigh = &low, &high
	}
	return draw.Forest(answers.OutcomeTitle(r.Outcome)+": "+r.B+" against "+r.A, unit, o.Better, margin, []draw.Row{row})
}

// WriteCSV writes one row, or none where there is not enough to say.
func (got Against) WriteCSV(w io.Writer) error {
	r := got.Comparison
	rows := [][]string{}
	if r != nil {
		rows = append(rows, []string{r.Outcome, r.A, r.B, number(&r.Change), number(&r.SE), number(&r.Low), number(&r.High), number(r.PILow),
			number(r.PIHigh), number(&r.P), number(&r.Better), strconv.Itoa(r.Players), strconv.Itoa(r.Levels), strconv.Itoa(r.Trials), r.Way,
			r.Evidence, r.Margin})
	}
	return writeCSV(w, []string{"outcome", "a", "b", "change", "se", "ci_low", "ci_high", "pi_low", "pi_high", "p", "chance_better", "players",
		"levels", "trials", "way", "evidence", "margin"}, rows)
}

// WriteText says the change, how sure it is, and of whom.
func (got Against) WriteText(w io.Writer) error {
	r := got.Comparison
	WriteMark(w, got.Mark)
	if r == nil {
		fmt.Fprintln(w, "Not enough to say:", got.Refused)
		return nil
	}
	change := fmt.Sprintf("%+.3g (%.3g to %.3g)", r.Change, r.Low, r.High)
	if o, _ := fleet.FindOutcome(r.Outcome); o.Log {
		change = fmt.Sprintf("%+.1f %% of the spread (%.1f to %.1f)", o.Percent(r.Change), o.Percent(r.Low), o.Percent(r.High))
	}
	fmt.Fprintf(w, "%s, %s against %s: %s\n%s; better for the next player with a chance of %.0f %%\n", answers.OutcomeTitle(r.Outcome), r.B,
		r.A, change, r.Text(), 100*r.Better)
	fmt.Fprintf(w, "%d players, %d levels, %d trials\n", r.Players, r.Levels, r.Trials)
	WriteNotes(w, append(got.Notes, r.Warnings...))
	return nil
}
