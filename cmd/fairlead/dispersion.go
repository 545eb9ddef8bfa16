package main

import (
	"errors"

	"github.com/spf13/cobra"

	"fairlead/cmd/frame"
	"fairlead/dashboards/draw"
	"fairlead/dashboards/figure"
	"fairlead/ingest/contract/glossary"
	"fairlead/ingest/contract/unit"
	"fairlead/ingest/contract/unit/table"
	"fairlead/processors/golf/dispersion"
)

func newDispersionCommand() *cobra.Command {
	var category, svg string
	var misses, targets, greens []string
	var show unit.Shown
	var f dispersion.Asked
	aimCarry, aimOffline := unit.NewValue(unit.Length, 0), unit.NewValue(unit.Length, 0)
	greenSpeed, hole := unit.NewValue(unit.Length, 3), unit.NewValue(unit.Length, 0)
	c := &cobra.Command{
		Use:   "dispersion FILE.csv",
		Short: "How tightly a run of shots lands, where its middle is, and how sure one may be",
		Long: `How tightly a run of shots lands, where its middle is, and how sure one may be.

FILE.csv ("-" is standard input) has a header and one shot a line: carry_m and
offline_m (right of the target positive); strike_x_m and strike_y_m (toe and up
positive) and swing (a wedge's swing length) where there are any. For a putter:
start_deg and ball_speed_mps, and launch_deg where measured. Other units stand
in the header (carry_yd, strike_x_mm). A row that cannot be used is named by its
line, and the rest is used.

Every statistic comes with an interval; below the number of shots where it
means something it is 'not yet' (null in JSON), with how many more it needs.

What fairlead export shots writes is read as it is: the rows that count.`,
		Example: `  fairlead dispersion testdata/dispersion/driver.csv --svg scatter.svg
  fairlead dispersion testdata/dispersion/driver.csv --miss left=15m --target 60mx30m --json
  fairlead dispersion testdata/dispersion/putts.csv --category putter --hole 3m --green-speed 10ft`,
		Args: frame.OneFile,
	}
	flags := c.Flags()
	flags.StringVar(&category, "category", "driver", "driver, wood, hybrid, iron, wedge or putter: what the shots are judged by")
	flags.Float64Var(&f.P, "p", 0.95, "share of shots that the ellipses hold")
	flags.Float64Var(&f.Level, "level", 0.95, "level of the intervals")
	flags.BoolVar(&f.Left, "left", false, "left-handed player: mirror across the target line")
	flags.Var(aimCarry, "aim-carry", "the distance aimed at (0: none, the shots' own mean is used)")
	flags.Var(aimOffline, "aim-offline", "how far right of the target line the player aimed")
	flags.StringArrayVar(&misses, "miss", nil,
		"a miss whose odds are wanted, as in left=15m (repeatable; else left and right beyond 15 m, of irons 10 m, of wedges 5 m)")
	flags.StringArrayVar(&targets, "target", nil,
		"a rectangle whose odds are wanted, length x width about the aim, as in 60mx30m (repeatable)")
	flags.StringArrayVar(&greens, "green", nil, "an ellipse whose odds are wanted, as in 25mx20m (repeatable)")
	flags.Var(greenSpeed, "green-speed", "putter: how far a ball released at 1.83 m/s rolls")
	flags.Var(hole, "hole", "putter: distance to a hole, for the share that would go in")
	flags.StringVar(&svg, "svg", "", "write the picture of the shots to this file")
	flags.Bool("json", false, "write one JSON object")
	frame.ShownUnits(c, &show)
	c.RunE = func(c *cobra.Command, args []string) error {
		var err error
		if f.Category, err = glossary.ParseCategory(category); err != nil {
			return frame.Use(err)
		}
		if err := f.Check(); err != nil {
			return frame.Use(err)
		}
		if f.Misses, f.Targets, err = dispersion.ParseGround(misses, targets, greens); err != nil {
			return frame.Use(err)
		}
		if f.Category == glossary.Putter {
			if svg != "" {
				return frame.Use(errors.New("--svg draws landing points; putts have none"))
			}
			return runPutts(c, args[0], dispersion.PuttsAsked{Run: greenSpeed.V, Hole: hole.V, Level: f.Level, Left: f.Left})
		}
		f.Aim = dispersion.Aim{Carry: aimCarry.V, Offline: aimOffline.V}
		file, err := readShots(c, args[0], "carry", "offline")
		if err != nil {
			return err
		}
		told, err := f.Tell(file)
		file.Warn(c.ErrOrStderr())
		if err != nil {
			return err
		}
		drawn := func() *draw.Picture {
			return draw.Dispersion(told.Summary, told.Shots, figure.Units{Imperial: show.Imperial})
		}
		if err := frame.Picture(svg, drawn); err != nil {
			return err
		}
		return frame.Tell(c, told.Account, frame.InUnits(told, show))
	}
	return c
}

func runPutts(c *cobra.Command, path string, asked dispersion.PuttsAsked) error {
	file, err := readShots(c, path, "start", "ball_speed")
	if err != nil {
		return err
	}
	out, err := asked.Tell(file)
	if err != nil {
		return frame.Use(err)
	}
	file.Warn(c.ErrOrStderr())
	if out.N == 0 && len(file.Out) > 0 {
		return file.Unusable()
	}
	return frame.Tell(c, out, out)
}

// readShots reads a file of shots, and says what was left out where that is all.
func readShots(c *cobra.Command, path string, need ...string) (*table.Partial, error) {
	in, err := frame.Input(c, path)
	if err != nil {
		return nil, err
	}
	defer in.Close()
	file, err := dispersion.ReadShots(in, path, need...)
	if err != nil && file != nil {
		file.Warn(c.ErrOrStderr())
	}
	return file, err
}
