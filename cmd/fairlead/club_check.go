package main

import (
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"fairlead/cmd/frame"
	"fairlead/processors/golf/club"
)

func newClubCheckCommand() *cobra.Command {
	var tolerances []string
	c := &cobra.Command{
		Use:   "check FILE.csv",
		Short: "A finished club against what was ordered, within tolerances",
		Long: `Compares measured figures with ordered ones: rows of club, figure, wanted,
built, values with units (33deg, 37.25in, D2). Figures: loft, lie, face_angle,
length, swingweight, mass, head_mass, grip_mass, frequency, inertia. The
tolerances are working defaults; --tolerance sets your own. Exit code 1 when a
figure is out.`,
		Example: `  fairlead club check testdata/club/built.csv --tolerance lie=1.5deg --tolerance swingweight=1
  fairlead club check testdata/club/built.csv --tolerance lie=1.5deg --tolerance swingweight=1 --json`,
		Args: frame.OneFile,
	}
	c.Flags().StringArrayVar(&tolerances, "tolerance", nil, "a figure's own tolerance, such as loft=0.25deg (repeatable)")
	c.Flags().Bool("json", false, "write one JSON array")
	c.RunE = func(c *cobra.Command, args []string) error {
		tol, err := club.ParseTolerances(tolerances)
		if err != nil {
			return frame.Use(fmt.Errorf("--tolerance %w", err))
		}
		in, err := frame.Input(c, args[0])
		if err != nil {
			return err
		}
		defer in.Close()
		out, err := club.ReadFinished(in, args[0], tol)
		if err != nil {
			return err
		}
		err = frame.Tell(c, out, frame.Words(func(w io.Writer) error { return club.WriteFinished(w, out) }))
		if outside := club.Outside(out); err == nil && outside > 0 {
			return frame.Exit(1, fmt.Errorf("%d of %d figures are out of tolerance", outside, len(out)))
		}
		return err
	}
	return c
}
