package main

import (
	"errors"
	"fmt"
	"io"
	"os"

	"github.com/spf13/cobra"

	"fairlead/dashboards/draw"
	"fairlead/ingest/contract/unit"
	"fairlead/processors/golf/flight"
)

type flightOptions struct {
	air                                          *flight.Weather
	ballSpeed, launch, direction, spin, axisTilt *unit.Value
	measured                                     *unit.Value
	adjusted, json, yards                        bool
	svg                                          string
	points                                       int
}

func newFlightCommand() *cobra.Command {
	o := &flightOptions{
		air:       flight.NewWeather(),
		ballSpeed: unit.NewValue(unit.Speed, 0), launch: unit.NewValue(unit.Angle, 0),
		direction: unit.NewValue(unit.Angle, 0), spin: unit.NewValue(unit.Rotation, 0),
		axisTilt: unit.NewValue(unit.Angle, 0), measured: unit.NewValue(unit.Length, 0),
	}
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
		Args: noArguments,
		RunE: func(c *cobra.Command, _ []string) error { return runFlight(c, o) },
	}
	f := c.Flags()
	f.Var(o.ballSpeed, "ball-speed", "ball speed; without it, shots are read from stdin")
	f.Var(o.launch, "launch", "launch angle above the horizon")
	f.Var(o.direction, "direction", "launch direction, positive right of the target")
	f.Var(o.spin, "spin", "spin rate, total")
	f.Var(o.axisTilt, "axis", "tilt of the spin axis, positive curves right")
	f.Var(o.measured, "measured-carry", "carry that a device measured: also print what it would be in standard air")
	f.BoolVar(&o.adjusted, "adjusted", false, "the device has already brought its carry to standard air: leave it as it is")
	f.BoolVar(&o.json, "json", false, "print JSON: an object for one shot, one a line for many")
	f.BoolVar(&o.yards, "yards", false, "label the picture in yards")
	f.StringVar(&o.svg, "svg", "", "also draw the flights into `FILE`")
	f.IntVar(&o.points, "path", 0, "with --json, add the path in this many points")
	airFlags(c, o.air)
	return c
}

// shots are the one that the flags say, or those of standard input.
func (o *flightOptions) shots(in io.Reader) (shots []flight.Shot, many bool, err error) {
	if o.ballSpeed.Given {
		shot := flight.Shot{Launch: flight.Launch{
			BallSpeed: o.ballSpeed.V, Angle: o.launch.V, Direction: o.direction.V, SpinRate: o.spin.V, SpinAxis: o.axisTilt.V,
		}}
		if o.measured.Given {
			shot.Measured = &o.measured.V
		}
		return []flight.Shot{shot}, false, nil
	}
	if o.launch.Given || o.spin.Given || o.direction.Given || o.axisTilt.Given || o.measured.Given {
		return nil, true, use(errors.New("a shot needs --ball-speed too; without it shots are read from stdin"))
	}
	if isTerminal(in) {
		return nil, true, use(errors.New("give --ball-speed, --launch and --spin, or shots as CSV or JSON lines on stdin"))
	}
	shots, err = flight.ReadShots(in)
	if errors.Is(err, flight.ErrNoShots) {
		err = use(err)
	}
	return shots, true, err
}

func runFlight(c *cobra.Command, o *flightOptions) error {
	conditions, err := o.air.Conditions()
	if err != nil {
		return use(err)
	}
	if o.points != 0 && (o.points < 2 || o.points > 10_000) {
		return use(fmt.Errorf("--path %d: give 2 to 10000 points", o.points))
	}
	shots, many, err := o.shots(c.InOrStdin())
	if err != nil {
		return err
	}
	out := flight.Writer{To: c.OutOrStdout(), JSON: o.json, Many: many}
	ask := flight.Asking{Adjusted: o.adjusted}
	if o.json {
		ask.Points = o.points
	}
	var drawn []draw.Trajectory
	failed := 0
	for i := range shots {
		s := &shots[i]
		account, err := flight.Tell(s, conditions, ask)
		if err != nil && !many {
			return use(err)
		}
		if err != nil {
			failed++
			if err := out.Fail(flight.Failure{Line: s.Line, ID: s.ID, Error: err.Error()}, c.ErrOrStderr()); err != nil {
				return err
			}
			continue
		}
		if err := out.Add(account); err != nil {
			return err
		}
		if o.svg != "" {
			path, err := flight.Path(s.Launch, conditions, 80)
			if err != nil {
				return err
			}
			drawn = append(drawn, draw.Trajectory{Name: account.Name(), Path: path})
		}
	}
	if err := out.Close(); err != nil {
		return err
	}
	if err := picture(o.svg, func(to io.Writer) error { return draw.Trajectories(drawn, drawUnits(o.yards)).Write(to) }); err != nil {
		return err
	}
	if failed > 0 {
		return &exitError{1, fmt.Errorf("%d of %d shots could not be computed", failed, len(shots))}
	}
	return nil
}

// drawUnits are those of a picture of flights.
func drawUnits(yards bool) draw.Units {
	if yards {
		return draw.Yards
	}
	return draw.Metric
}

// isTerminal says whether somebody would have to type the input.
func isTerminal(r io.Reader) bool {
	f, ok := r.(*os.File)
	if !ok {
		return false
	}
	info, err := f.Stat()
	return err == nil && info.Mode()&os.ModeCharDevice != 0
}
