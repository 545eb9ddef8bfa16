package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"fairlead/cmd/frame"
	"fairlead/ingest/contract/unit"
	"fairlead/processors/golf/club"
)

func newClubLadderCommand() *cobra.Command {
	var fixed, measured []string
	var match string
	c := &cobra.Command{
		Use:   "ladder",
		Short: "Lengths through a set from the clubs that were fitted, with heads matched to them",
		Long: `Lengths through a set. Without flags it is the trade's usual ladder (a habit,
not a norm). --fit CLUB=LENGTH fixes a fitted club and moves its family with
it; between two fitted clubs lengths run straight. --match gives the head
masses that hold swing weight or inertia through the irons and wedges, from
the model 7-iron of --head, --shaft and --grip. --measured CLUB=LENGTH checks
a real set's steps.`,
		Example: `  fairlead club ladder --fit 7i=37.25in
  fairlead club ladder --fit 7i=37.25in --match swingweight --head 270g --shaft 115g --grip 50g
  fairlead club ladder --measured 6i=37.5in --measured 7i=37in --measured 8i=36.25in`,
	}
	f := frame.UnitFlags{Command: c}
	step := f.Add(unit.Length, "step", 0.5*club.Inch, "step from iron to iron")
	tolerance := f.Add(unit.Length, "tolerance", club.Inch/16, "how far a measured step may be off")
	head := f.Add(unit.Mass, "head", 0.270, "head mass of the model 7-iron")
	shaft := f.Add(unit.Mass, "shaft", 0.115, "shaft mass of the model 7-iron, as cut")
	grip := f.Add(unit.Mass, "grip", 0.050, "grip mass")
	c.Flags().StringArrayVar(&fixed, "fit", nil, "a fitted club and its length, such as 7i=37.25in (repeatable)")
	c.Flags().StringArrayVar(&measured, "measured", nil, "a real club and its length (repeatable)")
	c.Flags().StringVar(&match, "match", "", "match heads by swingweight or inertia")
	c.Flags().Bool("json", false, "write one JSON object")
	c.RunE = func(c *cobra.Command, _ []string) error {
		q := club.LadderQuestion{Match: club.MatchBy(match), Tolerance: tolerance.V,
			Model: club.Club{HeadMass: head.V, ShaftMass: shaft.V, GripMass: grip.V}}
		if step.Given {
			q.Spec.IronStep = step.V
		}
		var err error
		if q.Spec.Lengths, err = club.ParseLengths(fixed); err != nil {
			return frame.Use(fmt.Errorf("--fit %w", err))
		}
		if q.Measured, err = club.ParseLengths(measured); err != nil {
			return frame.Use(fmt.Errorf("--measured %w", err))
		}
		out, err := club.TellLadder(q)
		if err != nil {
			return err
		}
		return frame.Tell(c, out, out)
	}
	return c
}
