package main

import (
	"context"
	"errors"

	"github.com/spf13/cobra"

	"fairlead/cmd/frame"
	"fairlead/dashboards/sheets"
)

func newReportCommand() *cobra.Command {
	p := &paper{}
	var session string
	var all bool
	c := &cobra.Command{
		Use:   "report VISIT",
		Short: "Print the report of a visit for the player, in plain words",
		Long: `Prints what a player takes home: in short, what changed, what it gains and how sure
that is, and what comes next; behind it what was tried as differences from the own club,
what was found with its ranges (and what can't be told yet), what the player felt,
what was decided and promised, the swing against the last visit with the same kind
of club, and how sure one may be. Promises are those of the moment of the verdict.

The page with the drawings of the shots is /reports/VISIT of the console. Ids of
visits: 'fairlead sheet' lists the newest verdicts with theirs.

Exit code 0: printed. 1: no such visit is stored, or the store is away. 2: wrong use.`,
		Example: `  fairlead report v-0199c2 --config studio.yaml
  fairlead report v-0199c2 --config studio.yaml --session s-0199c2 --json
  fairlead report v-0199c2 --config studio.yaml --pdf report.pdf`,
		Args: frame.AtMostOne("visit"),
		RunE: func(c *cobra.Command, args []string) error {
			if len(args) == 0 {
				return frame.Use(errors.New("no visit: give its id; `fairlead sheet` lists those of the newest verdicts"))
			}
			return p.with(c, func(ctx context.Context, s *sheets.Source, u sheets.Units) error {
				r, err := s.Report(ctx, args[0], session, u)
				if err != nil {
					return findable(err, "`fairlead sheet` lists the visits of the newest verdicts")
				}
				if p.pdf != "" {
					return p.print(r.PDF(ctx, all))
				}
				return frame.Tell(c, r, r)
			})
		},
	}
	p.register(c)
	c.Flags().BoolVar(&all, "all", false, "with --pdf: all that stands behind the page in short")
	c.Flags().StringVar(&session, "session", "", "this session of the visit only")
	return c
}
