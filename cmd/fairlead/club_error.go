package main

import (
	"errors"

	"github.com/spf13/cobra"

	"fairlead/cmd/frame"
	"fairlead/ingest/contract/unit"
	"fairlead/processors/golf/club"
)

func newClubErrorCommand() *cobra.Command {
	var left bool
	var show unit.Shown
	c := &cobra.Command{
		Use:   "error",
		Short: "What a wrong lie or loft does at the target, in degrees and metres",
		Long: `What a lie or loft that is off by so many degrees does to a good strike. A lie
too upright turns the face to the left (left-handed: right) by its error times
the tangent of the loft. The ball starts 61 to 83 % of the way to the face and
goes on curving to that side; the curve is not in the metres shown.`,
		Example: `  fairlead club error --loft 36deg --lie-error 1deg --carry 140yd --imperial
  fairlead club error --loft 33deg --loft-error -2deg --carry 130m --json`,
	}
	f := frame.UnitFlags{Command: c}
	loft := f.Add(unit.Angle, "loft", 0, "loft as delivered")
	lie := f.Add(unit.Angle, "lie-error", 0, "lie error, positive too upright")
	weak := f.Add(unit.Angle, "loft-error", 0, "loft error, positive too weak")
	carry := f.Add(unit.Length, "carry", 0, "carry with this club")
	c.Flags().BoolVar(&left, "left", false, "left-handed player")
	c.Flags().Bool("json", false, "write one JSON object")
	frame.ShownUnits(c, &show)
	c.RunE = func(c *cobra.Command, _ []string) error {
		if !lie.Given && !weak.Given {
			return frame.Use(errors.New("give --lie-error or --loft-error"))
		}
		out, err := club.Fault{Loft: loft.V, LieError: lie.V, LoftError: weak.V, Carry: carry.V, Left: left}.Tell()
		if err != nil {
			return err
		}
		return frame.Tell(c, out, frame.InUnits(out, show))
	}
	return c
}
