package fleet

import (
	"fmt"
	"io"
	"slices"
	"strconv"

	"fairlead/processors/ask/answers"
	"fairlead/processors/golf/fleet"
)

// Diagnosed is what was looked at about an answer, a worry or not.
type Diagnosed struct {
	ID          string             `json:"answer"`
	Mark        answers.Mark       `json:"mark"`
	Refused     string             `json:"refused,omitempty"`
	Diagnostics []fleet.Diagnostic `json:"diagnostics"`
	Notes       []fleet.Warning    `json:"notes"`

	title string
}

// Diagnose takes the diagnostics out of an answer.
func Diagnose(s *answers.Stored) Diagnosed {
	d := Diagnosed{ID: s.ID, Mark: s.Mark, Refused: s.Refused, title: s.Title(), Notes: []fleet.Warning{},
		Diagnostics: append([]fleet.Diagnostic{}, s.Diagnostics...)}
	if s.Answer != nil {
		d.Notes = append(d.Notes, s.Answer.Notes...)
	}
	return d
}

// Fired says whether one of them is a worry.
func (s Diagnosed) Fired() bool {
	return slices.ContainsFunc(s.Diagnostics, func(d fleet.Diagnostic) bool { return d.Fired })
}

// WriteCSV writes a row for each.
func (s Diagnosed) WriteCSV(w io.Writer) error {
	var rows [][]string
	for _, d := range s.Diagnostics {
		rows = append(rows, []string{d.Code, d.Title, number(&d.Value), number(&d.Threshold), strconv.FormatBool(d.Fired), d.Text})
	}
	return writeCSV(w, []string{"code", "title", "value", "threshold", "fired", "text"}, rows)
}

// WriteText says of each how far it is from a worry.
func (s Diagnosed) WriteText(w io.Writer) error {
	fmt.Fprintln(w, s.title)
	WriteMark(w, s.Mark)
	if s.Refused != "" {
		_, err := fmt.Fprintln(w, "\nNot enough to say:", s.Refused)
		return err
	}
	for _, d := range s.Diagnostics {
		mark := "ok      "
		if d.Fired {
			mark = "DISTRUST"
		}
		fmt.Fprintf(w, "\n%s %s: %.3g (a worry from %.3g)\n         %s\n", mark, d.Title, d.Value, d.Threshold, d.Text)
	}
	_, err := fmt.Fprintln(w)
	WriteNotes(w, s.Notes)
	return err
}
