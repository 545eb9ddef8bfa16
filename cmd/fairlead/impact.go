package main

import (
	"strings"

	"github.com/spf13/cobra"

	"fairlead/cmd/frame"
	"fairlead/ingest/contract/glossary"
	"fairlead/ingest/contract/unit"
	"fairlead/processors/golf/flight"
	"fairlead/processors/golf/impact"
)

func newImpactCommand() *cobra.Command {
	var table bool
	air, a := flight.NewWeather(), impact.Asked{Head: impact.NewWrittenHead()}
	c := &cobra.Command{
		Use:   "impact",
		Short: "Compute launch and spin from how the club met the ball",
		Long: `Compute ball speed, launch, direction and spin from a club delivery, and the
flight that follows.

Without --category the head is plain: the published equations as printed, a flat
face, no gear effect. A category (` + strings.Join(glossary.CategoryNames(), ", ") + `) brings a typical head with
bulge, gear effect and calibrated grip. --before says how an earlier delivery
differed, and splits the change into what speed, attack, dynamic loft, face and
path, and strike each contribute. --table computes a whole bag from the
clubhead speed of the driver.`,
		Example: `  fairlead impact --head-speed 45m/s --dynamic-loft 13.1deg
  fairlead impact --head-speed 100mph --attack -1 --dynamic-loft 14 --face 2 --path -1 --category driver --strike-x 12mm --json
  fairlead impact --head-speed 45 --attack 2 --dynamic-loft 15 --category driver --before attack=-2deg,dynamic-loft=13deg,strike-y=-8mm
  fairlead impact --head-speed 45 --table`,
	}
	u := frame.UnitFlags{Command: c}
	a.HeadSpeed = u.Add(unit.Speed, "head-speed", 0, "clubhead speed (required)")
	a.Attack = u.Add(unit.Angle, "attack", 0, "attack angle, positive when the head rises")
	a.DynamicLoft = u.Add(unit.Angle, "dynamic-loft", 0, "loft of the face at the strike, against the vertical (required)")
	a.Path = u.Add(unit.Angle, "path", 0, "club path, positive right of the target")
	a.Face = u.Add(unit.Angle, "face", 0, "face angle, positive right of the target")
	a.StrikeX = u.Add(unit.Length, "strike-x", 0, "strike from the face's centre, positive toward the toe")
	a.StrikeY = u.Add(unit.Length, "strike-y", 0, "strike above the face's centre")
	f := c.Flags()
	f.Var(a.Head.Mass, "head-mass", "head mass (the category's when left out)")
	f.Var(a.Head.Inertia, "head-inertia", "head inertia about the vertical, such as 4800gcm2 (the category's when left out)")
	f.Var(a.Head.Restitution, "e", "coefficient of restitution (from the head and the speed when left out)")
	f.StringVar(&a.Head.Category, "category", impact.PlainHead, "head: plain, "+strings.Join(glossary.CategoryNames(), ", "))
	f.StringVar(&a.Before, "before", "", "how the delivery was before, as FLAG=VALUE,...: split the change")
	f.BoolVar(&a.Left, "left", false, "a left-handed player: the toe points left of the target")
	f.BoolVar(&table, "table", false, "compute a bag of clubs from the driver's clubhead speed")
	f.Bool("json", false, "print JSON")
	frame.AirFlags(c, air)
	c.RunE = func(c *cobra.Command, _ []string) error {
		conditions, err := air.Conditions()
		if err != nil {
			return frame.Use(err)
		}
		if table {
			bag, err := a.Table(conditions)
			if err != nil {
				return frame.Use(err)
			}
			return frame.Tell(c, bag.Account(), bag)
		}
		out, err := a.Strike(conditions)
		if err != nil {
			return frame.Use(err)
		}
		return frame.Tell(c, out, out)
	}
	return c
}
