package main

import (
	"errors"

	"github.com/spf13/cobra"

	"fairlead/cmd/frame"
	"fairlead/dashboards/draw"
	"fairlead/ingest/contract/unit"
	"fairlead/processors/golf/flight"
	"fairlead/processors/golf/flight/window"
)

func newWindowCommand() *cobra.Command {
	var a window.Asked
	var svg string
	var yards, surface bool
	air := flight.NewWeather()
	c := &cobra.Command{
		Use:   "window",
		Short: "Find the launch and spin that suit a player's ball speed and attack angle",
		Long: `Find the launch window: the launch angle and spin that carry farthest at a ball
speed and attack angle, or that hold a green at a wanted carry, and everything
within 2 % of that. With the present launch and spin, also say how far the
player is from it and what a change of loft does about it.

The best lies on the line of centred strikes at this attack angle, where loft
moves launch and spin together; --svg draws the whole surface around it. The
answer is computed from models: check a change by hitting it.`,
		Example: `  fairlead window --ball-speed 70m/s --attack -1deg
  fairlead window --ball-speed 156mph --attack -1 --launch 9deg --spin 3600rpm --svg window.svg
  fairlead window --ball-speed 52 --attack -4 --category iron --launch 15 --spin 5500 --goal green --json`,
	}
	u := frame.UnitFlags{Command: c}
	a.BallSpeed = u.Add(unit.Speed, "ball-speed", 0, "the player's ball speed (required)")
	a.Attack = u.Add(unit.Angle, "attack", 0, "the player's attack angle, positive when the head rises")
	a.Launch = u.Add(unit.Angle, "launch", 0, "present launch angle")
	a.Spin = u.Add(unit.Rotation, "spin", 0, "present spin rate")
	a.Carry = u.Add(unit.Length, "carry", 0, "wanted carry, for the goal green; the present one when left out")
	f := c.Flags()
	f.StringVar(&a.Goal, "goal", "carry", "carry (farthest) or green (land at the wanted carry and stop)")
	f.StringVar(&a.Category, "category", "driver", "club: driver, wood, hybrid, iron or wedge")
	f.StringVar(&svg, "svg", "", "also draw the surface into `FILE`")
	f.Bool("json", false, "print JSON")
	f.BoolVar(&surface, "surface", false, "with --json, add the surface")
	f.BoolVar(&yards, "yards", false, "label the picture in yards")
	frame.AirFlags(c, air)
	c.RunE = func(c *cobra.Command, _ []string) error {
		conditions, err := air.Conditions()
		if err != nil {
			return frame.Use(err)
		}
		w, err := a.Find(conditions)
		if errors.Is(err, window.ErrOutOfReach) {
			return err
		}
		if err != nil {
			return frame.Use(err)
		}
		if err := frame.Picture(svg, func() *draw.Picture { return draw.Window(w, draw.UnitsOf(yards)) }); err != nil {
			return err
		}
		return frame.Tell(c, w.Account(surface), w)
	}
	return c
}
