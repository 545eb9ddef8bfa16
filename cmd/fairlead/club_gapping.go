package main

import (
	"github.com/spf13/cobra"

	"fairlead/cmd/frame"
	"fairlead/dashboards/draw"
	"fairlead/ingest/contract/unit"
	"fairlead/processors/golf/club"
)

func newClubGappingCommand() *cobra.Command {
	var svg string
	var show unit.Shown
	o := club.DefaultGapOptions()
	c := &cobra.Command{
		Use:   "gapping FILE.csv",
		Short: "Gaps, holes and overlaps of a bag from measured carries, and which iron still holds a green",
		Long: `Judges a bag from measured shots, one row a shot: club, carry_m, and where
measured swing (for partial wedge swings), loft_deg, landing_deg, spin_rpm,
stop_m, category. Units may stand in the column's name (carry_yd). "-" reads
standard input. What counts as a hole or an overlap, and what holds a green,
are the flags below: habits, not norms. Fewer than four shots of a club say
'not yet'.

What fairlead export shots writes is read as it is: the rows that count, each
under its build's name (fairlead export shots | fairlead club gapping -).`,
		Example: `  fairlead club gapping testdata/club/bag.csv
  fairlead club gapping testdata/club/bag.csv --imperial --svg bag.svg
  fairlead club gapping testdata/club/bag.csv --max-gap 15yd --json`,
		Args: frame.OneFile,
	}
	f := frame.UnitFlags{Command: c}
	minGap := f.Add(unit.Length, "min-gap", o.MinGap, "full swings closer than this overlap")
	maxGap := f.Add(unit.Length, "max-gap", o.MaxGap, "farther apart than this is a hole (irons, wedges)")
	maxWoods := f.Add(unit.Length, "max-gap-woods", o.MaxGapWoods, "the same below a driver, wood or hybrid")
	maxWedge := f.Add(unit.Length, "max-gap-wedge", o.MaxGapWedge, "the same between wedge swings")
	landing := f.Add(unit.Angle, "hold-landing", o.HoldLanding, "landing angle that holds a green")
	spin := f.Add(unit.Rotation, "hold-spin", o.HoldSpin, "spin that holds a green")
	stop := f.Add(unit.Length, "hold-stop", o.HoldStop, "farthest stop that holds a green")
	decide := f.Add(unit.Ratio, "decide", o.Decide, "probability at which a finding is stated")
	c.Flags().IntVar(&o.MaxClubs, "max-clubs", o.MaxClubs, "clubs allowed in the bag")
	c.Flags().IntVar(&o.OtherClubs, "other-clubs", o.OtherClubs, "clubs in the bag that are not in the file (the putter)")
	c.Flags().StringVar(&svg, "svg", "", "write the picture of the bag to this file")
	c.Flags().Bool("json", false, "write one JSON object")
	frame.ShownUnits(c, &show)
	c.RunE = func(c *cobra.Command, args []string) error {
		o.MinGap, o.MaxGap, o.MaxGapWoods, o.MaxGapWedge = minGap.V, maxGap.V, maxWoods.V, maxWedge.V
		o.HoldLanding, o.HoldSpin, o.HoldStop, o.Decide = landing.V, spin.V, stop.V, decide.V
		in, err := frame.Input(c, args[0])
		if err != nil {
			return err
		}
		defer in.Close()
		bag, err := club.ReadBag(in, args[0])
		if err != nil {
			return err
		}
		g, err := club.NewGapping(bag, o)
		if err != nil {
			return err
		}
		if err := frame.Picture(svg, func() *draw.Picture { return draw.Gapping(g, show.Imperial) }); err != nil {
			return err
		}
		return frame.Tell(c, g.Account(), frame.InUnits(g, show))
	}
	return c
}
