package main

import (
	"errors"
	"io"

	"github.com/spf13/cobra"

	"fairlead/dashboards/draw"
	"fairlead/ingest/contract/unit"
	"fairlead/processors/golf/flight"
	"fairlead/processors/golf/flight/window"
)

type windowOptions struct {
	air                                    *flight.Weather
	ballSpeed, attack, launch, spin, carry *unit.Value
	goal, category, svg                    string
	json, yards, surface                   bool
}

func newWindowCommand() *cobra.Command {
	o := &windowOptions{
		air:       flight.NewWeather(),
		ballSpeed: unit.NewValue(unit.Speed, 0), attack: unit.NewValue(unit.Angle, 0),
		launch: unit.NewValue(unit.Angle, 0), spin: unit.NewValue(unit.Rotation, 0), carry: unit.NewValue(unit.Length, 0),
	}
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
		Args: noArguments,
		RunE: func(c *cobra.Command, _ []string) error { return runWindow(c, o) },
	}
	f := c.Flags()
	f.Var(o.ballSpeed, "ball-speed", "the player's ball speed (required)")
	f.Var(o.attack, "attack", "the player's attack angle, positive when the head rises")
	f.Var(o.launch, "launch", "present launch angle")
	f.Var(o.spin, "spin", "present spin rate")
	f.Var(o.carry, "carry", "wanted carry, for the goal green; the present one when left out")
	f.StringVar(&o.goal, "goal", "carry", "carry (farthest) or green (land at the wanted carry and stop)")
	f.StringVar(&o.category, "category", "driver", "club: driver, wood, hybrid, iron or wedge")
	f.StringVar(&o.svg, "svg", "", "also draw the surface into `FILE`")
	f.BoolVar(&o.json, "json", false, "print JSON")
	f.BoolVar(&o.surface, "surface", false, "with --json, add the surface")
	f.BoolVar(&o.yards, "yards", false, "label the picture in yards")
	airFlags(c, o.air)
	return c
}

func runWindow(c *cobra.Command, o *windowOptions) error {
	if !o.ballSpeed.Given {
		return use(errors.New("a window needs --ball-speed"))
	}
	if o.launch.Given != o.spin.Given {
		return use(errors.New("the present launch needs both --launch and --spin"))
	}
	if o.category == "putter" {
		return use(errors.New("a putter has no launch window: use driver, wood, hybrid, iron or wedge"))
	}
	if o.carry.Given && o.goal != string(window.Green) {
		return use(errors.New("--carry is for --goal green"))
	}
	conditions, err := o.air.Conditions()
	if err != nil {
		return use(err)
	}
	w, err := window.Find(window.Player{
		BallSpeed: o.ballSpeed.V, Attack: o.attack.V, Category: o.category,
		Launch: o.launch.V, Spin: o.spin.V, WantedCarry: o.carry.V,
	}, window.Goal(o.goal), conditions)
	if errors.Is(err, window.ErrOutOfReach) {
		return &exitError{1, err}
	}
	if err != nil {
		return use(err)
	}
	if err := picture(o.svg, func(to io.Writer) error { return draw.Window(w, drawUnits(o.yards)).Write(to) }); err != nil {
		return err
	}
	if o.json {
		return printJSON(c.OutOrStdout(), w.Account(o.surface))
	}
	return w.WriteText(c.OutOrStdout())
}
