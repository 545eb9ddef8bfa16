package main

import (
	"context"
	"errors"

	"github.com/spf13/cobra"

	"fairlead/dashboards/sheets"
)

func newReportCommand() *cobra.Command {
	p := &paper{}
	var session string
	c := &cobra.Command{
		Use:   "report VISIT",
		Short: "Print the report of a visit for the player, in plain words",
		Long: `Prints what a player takes home: what was tried as differences from the own club,
what was found with its ranges (and what can't be told yet), what the player felt,
what was decided and promised, the swing against the last visit with the same kind
of club, and how sure one may be. Promises are those of the moment of the verdict.

The page with the drawing of the shots is /reports/VISIT of the console. Ids of
visits: 'fairlead sheet' lists the newest verdicts with theirs.

Exit code 0: printed. 1: no such visit is stored, or the store is away. 2: wrong use.`,
		Example: `  fairlead report v-0199c2 --config studio.yaml
  fairlead report v-0199c2 --config studio.yaml --session s-0199c2 --json`,
		Args: atMostOne("visit"),
		RunE: func(c *cobra.Command, args []string) error {
			if len(args) == 0 {
				return use(errors.New("no visit: give its id; `fairlead sheet` lists those of the newest verdicts"))
			}
			return p.with(c, func(ctx context.Context, s *sheets.Source, u sheets.Units) error {
				r, err := s.Report(ctx, args[0], session, u)
				if err != nil {
					return findable(err, "`fairlead sheet` lists the visits of the newest verdicts")
				}
				return tell(c, r, r)
			})
		},
	}
	p.register(c)
	c.Flags().StringVar(&session, "session", "", "this session of the visit only")
	return c
}
