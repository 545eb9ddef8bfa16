package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"fairlead/cmd/frame"
	"fairlead/dashboards/draw"
	"fairlead/ingest/contract/unit"
	"fairlead/processors/golf/flight"
)

func newFlightCommand() *cobra.Command {
	var a flight.Asked
	var yards bool
	var svg string
	air := flight.NewWeather()
	c := &cobra.Command{
		Use:   "flight",
		Short: "Compute where a ball lands from how it left the club",
		Long: `Compute the flight of a ball: carry, offline, apex, hang time, landing and total.

One shot is given by flags. Without --ball-speed, shots are read from stdin: CSV
with a header, or one JSON object a line. The columns are ball_speed, launch,
spin and, where known, direction, axis, id and measured_carry. A column may say
its unit (ball_speed_mph, "launch (deg)"), a value too (156mph); without one,
values are in m/s, degrees, rpm and metres.

Carry and offline are along and beside the target line, right being positive.
The total adds bounce and roll, of which little is known: lead with carry.`,
		Example: `  fairlead flight --ball-speed 70m/s --launch 12deg --spin 2700rpm
  fairlead flight --ball-speed 156mph --launch 12 --spin 2700 --axis 10deg --wind 5m/s@0deg --json
  fairlead flight --ball-speed 70 --launch 12 --spin 2700 --altitude 1609m --measured-carry 252yd
  printf 'ball_speed_mph,launch,spin\n156,12,2700\n118,17,6800\n' | fairlead flight --svg flights.svg`,
	}
	u := frame.UnitFlags{Command: c}
	a.BallSpeed = u.Add(unit.Speed, "ball-speed", 0, "ball speed; without it, shots are read from stdin")
	a.Launch = u.Add(unit.Angle, "launch", 0, "launch angle above the horizon")
	a.Direction = u.Add(unit.Angle, "direction", 0, "launch direction, positive right of the target")
	a.Spin = u.Add(unit.Rotation, "spin", 0, "spin rate, total")
	a.Axis = u.Add(unit.Angle, "axis", 0, "tilt of the spin axis, positive curves right")
	a.Measured = u.Add(unit.Length, "measured-carry", 0, "carry that a device measured: also print what it would be in standard air")
	f := c.Flags()
	f.BoolVar(&a.Adjusted, "adjusted", false, "the device has already brought its carry to standard air: leave it as it is")
	f.Bool("json", false, "print JSON: an object for one shot, one a line for many")
	f.BoolVar(&yards, "yards", false, "label the picture in yards")
	f.StringVar(&svg, "svg", "", "also draw the flights into `FILE`")
	f.IntVar(&a.Points, "path", 0, "with --json, add the path in this many points")
	frame.AirFlags(c, air)
	c.RunE = func(c *cobra.Command, _ []string) error {
		conditions, err := air.Conditions()
		if err != nil {
			return frame.Use(err)
		}
		in := c.InOrStdin()
		if frame.IsTerminal(in) {
			in = nil
		}
		shots, err := a.Shots(in)
		if err != nil {
			return err
		}
		out := flight.Writer{To: c.OutOrStdout(), JSON: frame.WantsJSON(c), Many: !a.BallSpeed.Given}
		if !frame.WantsJSON(c) {
			a.Points = 0
		}
		drawn := 0
		if svg != "" {
			drawn = 80
		}
		paths, failed, err := flight.TellAll(shots, conditions, a.Asking, &out, c.ErrOrStderr(), drawn)
		if err != nil && failed > 0 && !out.Many {
			return frame.Use(err)
		}
		if err != nil {
			return err
		}
		if err := frame.Picture(svg, func() *draw.Picture { return draw.Trajectories(paths, draw.UnitsOf(yards)) }); err != nil {
			return err
		}
		if failed > 0 {
			return frame.Exit(1, fmt.Errorf("%d of %d shots could not be computed", failed, len(shots)))
		}
		return nil
	}
	return c
}
