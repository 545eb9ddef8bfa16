package fleet

import (
	"fmt"
	"io"
	"strconv"
	"text/tabwriter"

	"fairlead/processors/ask/answers"
)

// Kept is a list of answers that are kept.
type Kept []answers.Line

// WriteCSV writes a row for each answer.
func (lines Kept) WriteCSV(w io.Writer) error {
	var rows [][]string
	for _, l := range lines {
		rows = append(rows, []string{l.ID, l.Category, l.Outcome, l.Label, l.Asked.UTC().Format("2006-01-02T15:04:05Z"),
			strconv.FormatUint(l.Trials, 10), strconv.FormatUint(l.Players, 10), l.Refused})
	}
	return writeCSV(w, []string{"id", "category", "outcome", "label", "asked", "trials", "players", "refused"}, rows)
}

// WriteText writes a line for each answer.
func (lines Kept) WriteText(w io.Writer) error {
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "answer\tasked\tcategory\toutcome\tof whom\tplayers\ttrials\t")
	for _, l := range lines {
		note := ""
		if l.Refused != "" {
			note = "not enough to say"
		}
		fmt.Fprintf(t, "%s\t%s\t%s\t%s\t%s\t%d\t%d\t%s\n", l.ID, l.Asked.UTC().Format("2006-01-02 15:04"), l.Category, l.Outcome, l.Label,
			l.Players, l.Trials, note)
	}
	return t.Flush()
}
