package main

import (
	"context"
	pages "fairlead/dashboards/fleet"
	"fmt"
	"strconv"

	"github.com/spf13/cobra"

	"fairlead/processors/ask/answers"
	"fairlead/processors/golf/fleet"
)

func newFleetDiagnoseCommand() *cobra.Command {
	var a fleetAsk
	c := &cobra.Command{
		Use:   "diagnose",
		Short: "What there is to distrust about an answer of the fleet",
		Long: `Prints everything that was looked at about an answer, whether it is a worry or not:
order in the session, builds only ever chosen for one kind of player, bays whose
devices disagree, too few players, shots left out more often on one side, slopes
that cannot be told from noise, heavy tails. Exit code 1 when one of them is a worry.`,
		Example: `  fairlead fleet diagnose --config studio.yaml --outcome direction --category driver
  fairlead fleet diagnose --config studio.yaml --json`,
		Args: noArguments,
		RunE: func(c *cobra.Command, _ []string) error {
			q, err := a.question()
			if err != nil {
				return err
			}
			return a.with(c, func(ctx context.Context, f *answers.Fleet) error {
				s, err := f.Ask(ctx, q, a.asking(c))
				if err != nil {
					return err
				}
				return a.printDiagnostics(c, s)
			})
		},
	}
	a.where(c)
	a.model(c)
	return c
}

func (a *fleetAsk) printDiagnostics(c *cobra.Command, s *answers.Stored) error {
	w := c.OutOrStdout()
	fired := false
	for _, d := range s.Diagnostics {
		fired = fired || d.Fired
	}
	var err error
	switch {
	case a.asJSON:
		notes := []fleet.Warning{}
		if s.Answer != nil {
			notes = append(notes, s.Answer.Notes...)
		}
		err = printJSON(w, struct {
			ID          string             `json:"answer"`
			Mark        answers.Mark       `json:"mark"`
			Refused     string             `json:"refused,omitempty"`
			Diagnostics []fleet.Diagnostic `json:"diagnostics"`
			Notes       []fleet.Warning    `json:"notes"`
		}{s.ID, s.Mark, s.Refused, append([]fleet.Diagnostic{}, s.Diagnostics...), notes})
	case a.asCSV:
		var rows [][]string
		for _, d := range s.Diagnostics {
			rows = append(rows, []string{d.Code, d.Title, number(&d.Value), number(&d.Threshold), strconv.FormatBool(d.Fired), d.Text})
		}
		err = writeCSV(w, []string{"code", "title", "value", "threshold", "fired", "text"}, rows)
	default:
		fmt.Fprintln(w, s.Title())
		pages.WriteMark(w, s.Mark)
		if s.Refused != "" {
			fmt.Fprintln(w, "\nNot enough to say:", s.Refused)
			return nil
		}
		for _, d := range s.Diagnostics {
			mark := "ok      "
			if d.Fired {
				mark = "DISTRUST"
			}
			fmt.Fprintf(w, "\n%s %s: %.3g (a worry from %.3g)\n         %s\n", mark, d.Title, d.Value, d.Threshold, d.Text)
		}
		fmt.Fprintln(w)
		pages.WriteNotes(w, s.Answer.Notes)
	}
	if err == nil && fired {
		return &exitError{1, nil}
	}
	return err
}
