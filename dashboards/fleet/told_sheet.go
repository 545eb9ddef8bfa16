package fleet

import (
	"fmt"
	"io"
	"strconv"
	"strings"
	"text/tabwriter"

	"fairlead/dashboards/draw"
	"fairlead/processors/ask/answers"
	"fairlead/processors/golf/fleet"
)

// Sheet is the answer to one attribute under every reasonable choice.
type Sheet struct{ *answers.Sheet }

// Picture draws the change under each choice.
func (s Sheet) Picture() *draw.Picture {
	o, _ := fleet.FindOutcome(s.Question.Outcome)
	attribute, _ := fleet.ParseAttribute(s.Attribute)
	turn, unit, margin := axisOf(o)
	var rows []draw.Row
	for _, r := range s.Rows {
		if r.Refuse == "" {
			rows = append(rows, draw.Row{Group: r.Group, Label: r.Name, Value: turn(r.Change), Low: turn(r.Low), High: turn(r.High), Kind: r.Kind(),
				Says: r.Text(), Players: r.Players, Pairs: r.Trials})
		}
	}
	return draw.Forest(answers.OutcomeTitle(o.Name)+", "+attribute.StepText()+", under every reasonable choice", unit, o.Better, margin, rows)
}

// WriteCSV writes a row for each choice.
func (s Sheet) WriteCSV(w io.Writer) error {
	var rows [][]string
	for _, r := range s.Rows {
		rows = append(rows, []string{r.Group, r.Name, number(&r.Change), number(&r.Low), number(&r.High), strconv.Itoa(r.Players),
			strconv.Itoa(r.Trials), r.Way, r.Evidence, r.Margin, strconv.FormatBool(r.Agrees), strings.Join(r.Flips, "; "), r.Refuse})
	}
	return writeCSV(w, []string{"group", "choice", "change", "ci_low", "ci_high", "players", "trials", "way", "evidence", "margin", "agrees",
		"flips", "refused"}, rows)
}

// WriteText writes a line for each choice, and how many disagree.
func (s Sheet) WriteText(w io.Writer) error {
	o, _ := fleet.FindOutcome(s.Question.Outcome)
	attribute, _ := fleet.ParseAttribute(s.Attribute)
	turn, unit, _ := axisOf(o)
	fmt.Fprintf(w, "%s, %s, in %s\n", answers.OutcomeTitle(o.Name), attribute.StepText(), unit)
	WriteMark(w, s.Mark)
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "\nchoice\t\tchange\t95 % interval\tplayers\tevidence\tmargin\tagrees")
	differ := 0
	for _, r := range s.Rows {
		agrees := "yes"
		if !r.Agrees {
			agrees = "NO"
			if len(r.Flips) > 0 {
				agrees += ": " + strings.Join(r.Flips, "; ")
			}
			differ++
		}
		if r.Refuse != "" {
			fmt.Fprintf(t, "%s\t%s\t–\t–\t%d\t%s\t\t–\n", r.Group, r.Name, r.Players, r.Refuse)
			continue
		}
		fmt.Fprintf(t, "%s\t%s\t%+.3g\t%.3g to %.3g\t%d\t%s\t%s\t%s\n", r.Group, r.Name, turn(r.Change), turn(r.Low), turn(r.High), r.Players,
			r.Evidence, r.Margin, agrees)
	}
	if err := t.Flush(); err != nil {
		return err
	}
	fmt.Fprintf(w, "\n%d of %d choices disagree with the answer as asked\n", differ, len(s.Rows)-1)
	WriteNotes(w, s.Notes)
	return nil
}
