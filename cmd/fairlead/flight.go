package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"fairlead/dashboards/draw"
	"fairlead/ingest/contract/unit"
	"fairlead/processors/golf/flight"
)

// flightJSON is one flight as the command prints it. Every key says its unit;
// offline is positive right of the target.
type flightJSON struct {
	Line         int               `json:"line,omitempty"` // of stdin
	ID           string            `json:"id,omitempty"`
	BallSpeed    float64           `json:"ball_speed_mps"`
	Launch       float64           `json:"launch_deg"`
	Direction    float64           `json:"direction_deg"`
	Spin         float64           `json:"spin_rpm"`
	Axis         float64           `json:"axis_deg"`
	Carry        float64           `json:"carry_m"`
	Offline      float64           `json:"offline_m"`
	Straight     float64           `json:"carry_straight_m"`
	Curve        float64           `json:"curve_m"`
	Apex         float64           `json:"apex_m"`
	Hang         float64           `json:"hang_s"`
	Landing      float64           `json:"landing_deg"`
	LandingSpeed float64           `json:"landing_speed_mps"`
	LandingSpin  float64           `json:"landing_spin_rpm"`
	Total        float64           `json:"total_m"`
	TotalOffline float64           `json:"total_offline_m"`
	Confidence   string            `json:"total_confidence"`
	Model        string            `json:"model"`
	Density      float64           `json:"air_density_kgm3"`
	Measured     *float64          `json:"measured_carry_m,omitempty"`
	Standard     *float64          `json:"standard_carry_m,omitempty"`
	Applied      *bool             `json:"standard_applied,omitempty"`
	Flags        []string          `json:"flags"`
	Path         []flightPointJSON `json:"path,omitempty"`
}

type flightPointJSON struct {
	T float64 `json:"t_s"`
	X float64 `json:"x_m"`
	Y float64 `json:"y_m"`
	Z float64 `json:"z_m"`
}

// flightFailure stands for a shot that could not be computed.
type flightFailure struct {
	Line  int    `json:"line"`
	ID    string `json:"id,omitempty"`
	Error string `json:"error"`
}

type flightOptions struct {
	air                                          airFlags
	ballSpeed, launch, direction, spin, axisTilt *unit.Value
	measured                                     *unit.Value
	adjusted, json, yards                        bool
	svg                                          string
	points                                       int
}

func newFlightCommand() *cobra.Command {
	o := &flightOptions{
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
	o.air.register(c)
	return c
}

// noArguments refuses positional arguments as wrong use.
func noArguments(_ *cobra.Command, args []string) error {
	if len(args) > 0 {
		return &usageError{fmt.Errorf("unexpected argument %q", args[0])}
	}
	return nil
}

func runFlight(c *cobra.Command, o *flightOptions) error {
	conditions, err := o.air.conditions()
	if err != nil {
		return err
	}
	if o.points != 0 && (o.points < 2 || o.points > 10_000) {
		return &usageError{fmt.Errorf("--path %d: give 2 to 10000 points", o.points)}
	}
	many := !o.ballSpeed.Given
	var shots []flightShot
	if many {
		if o.launch.Given || o.spin.Given || o.direction.Given || o.axisTilt.Given || o.measured.Given {
			return &usageError{errors.New("a shot needs --ball-speed too; without it shots are read from stdin")}
		}
		if isTerminal(c.InOrStdin()) {
			return &usageError{errors.New("give --ball-speed, --launch and --spin, or shots as CSV or JSON lines on stdin")}
		}
		if shots, err = readFlightShots(c.InOrStdin()); err != nil {
			return err
		}
	} else {
		shot := flightShot{launch: flight.Launch{
			BallSpeed: o.ballSpeed.V, Angle: o.launch.V, Direction: o.direction.V, SpinRate: o.spin.V, SpinAxis: o.axisTilt.V,
		}}
		if o.measured.Given {
			shot.measured = &o.measured.V
		}
		shots = []flightShot{shot}
	}

	out := flightWriter{w: c.OutOrStdout(), json: o.json, many: many}
	var drawn []draw.Trajectory
	failed := 0
	for i := range shots {
		s := &shots[i]
		row, path, err := o.fly(s, conditions)
		if err != nil {
			if !many {
				return &usageError{err}
			}
			failed++
			if err := out.fail(flightFailure{Line: s.line, ID: s.id, Error: err.Error()}, c.ErrOrStderr()); err != nil {
				return err
			}
			continue
		}
		if err := out.add(row); err != nil {
			return err
		}
		if o.svg != "" {
			drawn = append(drawn, draw.Trajectory{Name: flightName(s, row), Path: path})
		}
	}
	if err := out.close(); err != nil {
		return err
	}
	if o.svg != "" {
		units := draw.Metric
		if o.yards {
			units = draw.Yards
		}
		if err := writeFlightSVG(o.svg, func(w io.Writer) error { return draw.Trajectories(drawn, units).Write(w) }); err != nil {
			return err
		}
	}
	if failed > 0 {
		return &exitError{1, fmt.Errorf("%d of %d shots could not be computed", failed, len(shots))}
	}
	return nil
}

// fly computes one shot.
func (o *flightOptions) fly(s *flightShot, c flight.Conditions) (*flightJSON, []flight.Point, error) {
	if s.err != nil {
		return nil, nil, s.err
	}
	r, err := flight.Simulate(s.launch, c)
	if err != nil {
		return nil, nil, err
	}
	l := s.launch
	row := &flightJSON{
		Line: s.line, ID: s.id,
		BallSpeed: digits(l.BallSpeed), Launch: digits(l.Angle), Direction: digits(l.Direction), Spin: digits(l.SpinRate), Axis: digits(l.SpinAxis),
		Carry: digits(r.Carry), Offline: digits(r.Offline), Straight: digits(r.Distance()), Curve: digits(r.Curve),
		Apex: digits(r.Apex), Hang: digits(r.HangTime), Landing: digits(r.LandingAngle), LandingSpeed: digits(r.LandingSpeed),
		LandingSpin: digits(r.LandingSpin), Total: digits(r.Total), TotalOffline: digits(r.TotalOffline), Confidence: "low",
		Model: c.Model.Name, Density: digits(c.Air.Density), Flags: r.Flags.Names(),
	}
	if s.measured != nil {
		adjusted, err := flight.StandardAirCarry(*s.measured, l, c, o.adjusted)
		if err != nil {
			return nil, nil, err
		}
		measured, standard := digits(*s.measured), digits(adjusted.Carry)
		row.Measured, row.Standard, row.Applied = &measured, &standard, &adjusted.Applied
	}
	if o.json && o.points > 0 {
		points, err := flight.Path(l, c, o.points)
		if err != nil {
			return nil, nil, err
		}
		for _, p := range points {
			row.Path = append(row.Path, flightPointJSON{digits(p.T), digits(p.X), digits(p.Y), digits(p.Z)})
		}
	}
	var path []flight.Point
	if o.svg != "" {
		if path, err = flight.Path(l, c, 80); err != nil {
			return nil, nil, err
		}
	}
	return row, path, nil
}

// flightName labels a shot in the picture.
func flightName(s *flightShot, r *flightJSON) string {
	if s.id != "" {
		return s.id
	}
	return fmt.Sprintf("%.1f m/s, %.1f°, %.0f rpm", r.BallSpeed, r.Launch, r.Spin)
}

// flightWriter prints flights as they come: JSON, a table of many, or one in
// full.
type flightWriter struct {
	w          io.Writer
	json, many bool
	table      *tabwriter.Writer
}

func (f *flightWriter) add(r *flightJSON) error {
	switch {
	case f.json && f.many:
		return json.NewEncoder(f.w).Encode(r)
	case f.json:
		e := json.NewEncoder(f.w)
		e.SetIndent("", "  ")
		return e.Encode(r)
	case f.many:
		if f.table == nil {
			f.table = tabwriter.NewWriter(f.w, 0, 0, 2, ' ', tabwriter.AlignRight)
			fmt.Fprintln(f.table, "line\tid\tcarry m\tcarry yd\toffline m\tapex m\thang s\tlanding deg\tlanding m/s\ttotal m\tflags\t")
		}
		_, err := fmt.Fprintf(f.table, "%d\t%s\t%.1f\t%.1f\t%+.1f\t%.1f\t%.2f\t%.1f\t%.1f\t%.0f\t%s\t\n",
			r.Line, r.ID, r.Carry, r.Carry/yardMetres, r.Offline, r.Apex, r.Hang, r.Landing, r.LandingSpeed, r.Total, flagText(r.Flags))
		return err
	}
	return printFlight(f.w, r)
}

// fail reports a shot that could not be computed: in its place in JSON, so
// that no row goes missing, and in words on stderr.
func (f *flightWriter) fail(x flightFailure, stderr io.Writer) error {
	if f.json {
		return json.NewEncoder(f.w).Encode(x)
	}
	_, err := fmt.Fprintf(stderr, "fairlead: line %d: %s\n", x.Line, x.Error)
	return err
}

func (f *flightWriter) close() error {
	if f.table == nil {
		return nil
	}
	return f.table.Flush()
}

const yardMetres = unit.Yard

func printFlight(w io.Writer, r *flightJSON) error {
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	both := func(name string, m float64, note string) {
		fmt.Fprintf(t, "%s\t%.1f m\t%.1f yd\t%s\n", name, digits(m), digits(m/yardMetres), note)
	}
	both("carry", r.Carry, "")
	both("offline", r.Offline, side(r.Offline))
	both("apex", r.Apex, "")
	fmt.Fprintf(t, "hang time\t%.2f s\n", r.Hang)
	fmt.Fprintf(t, "landing\t%.1f deg\t%.1f m/s\n", r.Landing, r.LandingSpeed)
	both("total", r.Total, "low confidence")
	if r.Standard != nil {
		note := "the measured carry in standard air"
		if !*r.Applied {
			note = "left as measured: the device adjusted it"
		}
		both("standard carry", *r.Standard, note)
	}
	if len(r.Flags) > 0 {
		fmt.Fprintf(t, "flags\t%s\n", flagText(r.Flags))
	}
	return t.Flush()
}

// side says in words which side of the target a distance is.
func side(v float64) string {
	switch {
	case v > 0.05:
		return "right"
	case v < -0.05:
		return "left"
	}
	return ""
}

// writeFlightSVG writes a picture to a file.
func writeFlightSVG(path string, write func(io.Writer) error) error {
	f, err := os.Create(path)
	if err != nil {
		return fmt.Errorf("picture: %w", err)
	}
	if err := write(f); err != nil {
		f.Close()
		return fmt.Errorf("picture %s: %w", path, err)
	}
	if err := f.Close(); err != nil {
		return fmt.Errorf("picture %s: %w", path, err)
	}
	return nil
}
