package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"fairlead/dashboards/draw"
	"fairlead/ingest/contract/unit"
	"fairlead/processors/golf/flight/window"
)

type windowOptions struct {
	air                                    airFlags
	ballSpeed, attack, launch, spin, carry *unit.Value
	goal, category, svg                    string
	json, yards, surface                   bool
}

func newWindowCommand() *cobra.Command {
	o := &windowOptions{
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
	o.air.register(c)
	return c
}

func runWindow(c *cobra.Command, o *windowOptions) error {
	if !o.ballSpeed.Given {
		return &usageError{errors.New("a window needs --ball-speed")}
	}
	if o.launch.Given != o.spin.Given {
		return &usageError{errors.New("the present launch needs both --launch and --spin")}
	}
	if o.category == "putter" {
		return &usageError{errors.New("a putter has no launch window: use driver, wood, hybrid, iron or wedge")}
	}
	if o.carry.Given && o.goal != string(window.Green) {
		return &usageError{errors.New("--carry is for --goal green")}
	}
	conditions, err := o.air.conditions()
	if err != nil {
		return err
	}
	w, err := window.Find(window.Player{
		BallSpeed: o.ballSpeed.V, Attack: o.attack.V, Category: o.category,
		Launch: o.launch.V, Spin: o.spin.V, WantedCarry: o.carry.V,
	}, window.Goal(o.goal), conditions)
	if errors.Is(err, window.ErrOutOfReach) {
		return &exitError{1, err}
	}
	if err != nil {
		return &usageError{err}
	}
	if o.svg != "" {
		units := draw.Metric
		if o.yards {
			units = draw.Yards
		}
		if err := writeFlightSVG(o.svg, func(out io.Writer) error { return draw.Window(w, units).Write(out) }); err != nil {
			return err
		}
	}
	if o.json {
		e := json.NewEncoder(c.OutOrStdout())
		e.SetIndent("", "  ")
		return e.Encode(windowOut(w, o.surface))
	}
	return printWindow(c.OutOrStdout(), w)
}

// windowPointJSON is a launch with its outcome.
type windowPointJSON struct {
	Launch      float64  `json:"launch_deg"`
	Spin        float64  `json:"spin_rpm"`
	DynamicLoft *float64 `json:"dynamic_loft_deg,omitempty"`
	Loft        *float64 `json:"loft_change_deg,omitempty"`
	BallSpeed   *float64 `json:"ball_speed_mps,omitempty"`
	Carry       float64  `json:"carry_m"`
	Landing     float64  `json:"landing_deg"`
	Stop        float64  `json:"run_m"`
	Loss        float64  `json:"loss_m"`
	Gain        *float64 `json:"gain_m,omitempty"`
	SpinShare   float64  `json:"spin_over_centred"`
	In          bool     `json:"in_window"`
}

type windowJSON struct {
	Goal        string            `json:"goal"`
	Category    string            `json:"category"`
	BallSpeed   float64           `json:"ball_speed_mps"`
	Attack      float64           `json:"attack_deg"`
	Wanted      *float64          `json:"wanted_carry_m,omitempty"`
	Within      float64           `json:"window_loss_m"`
	Best        windowPointJSON   `json:"best"`
	Ceiling     windowPointJSON   `json:"ceiling"`
	Range       windowRangeJSON   `json:"line_in_window"`
	Present     *windowPointJSON  `json:"present,omitempty"`
	SpinCost    *float64          `json:"spin_cost_m,omitempty"`
	Sensitivity *sensitivityJSON  `json:"loft_sensitivity,omitempty"`
	Line        []windowPointJSON `json:"line"`
	Surface     []windowPointJSON `json:"surface,omitempty"`
	Confidence  string            `json:"run_confidence"`
	Note        string            `json:"note"`
}

// windowRangeJSON is the part of the line of centred strikes in the window.
type windowRangeJSON struct {
	LaunchLow  float64 `json:"launch_low_deg"`
	LaunchHigh float64 `json:"launch_high_deg"`
	SpinLow    float64 `json:"spin_low_rpm"`
	SpinHigh   float64 `json:"spin_high_rpm"`
}

type sensitivityJSON struct {
	DynamicLoft    float64           `json:"dynamic_loft_deg"`
	Launch         float64           `json:"launch_deg_per_deg"`
	Spin           float64           `json:"spin_rpm_per_deg"`
	BallSpeed      float64           `json:"ball_speed_mps_per_deg"`
	Carry          float64           `json:"carry_m_per_deg"`
	Loss           float64           `json:"loss_m_per_deg"`
	CarryPerAttack float64           `json:"carry_m_per_attack_deg"`
	Advice         windowPointJSON   `json:"advice"`
	Changes        []windowPointJSON `json:"changes"`
}

func windowOut(w *window.Window, surface bool) windowJSON {
	point := func(p window.Point) windowPointJSON {
		return windowPointJSON{
			Launch: digits(p.Launch), Spin: digits(p.Spin), Carry: digits(p.Carry), Landing: digits(p.Landing),
			Stop: digits(p.Stop), Loss: digits(p.Loss), SpinShare: digits(p.SpinShare), In: w.In(p),
		}
	}
	pointer := func(v float64) *float64 { v = digits(v); return &v }
	reach := func(r window.Reachable) windowPointJSON {
		p := point(r.Point)
		p.DynamicLoft = pointer(r.DynamicLoft)
		return p
	}
	low, high := w.LineRange()
	out := windowJSON{
		Goal: string(w.Goal), Category: w.Player.Category, BallSpeed: digits(w.Player.BallSpeed), Attack: digits(w.Player.Attack),
		Within: digits(w.Within), Best: reach(w.Best), Ceiling: point(w.Surface.Ceiling),
		Range:      windowRangeJSON{digits(low.Launch), digits(high.Launch), digits(low.Spin), digits(high.Spin)},
		Confidence: "low", Note: "computed from flight and impact models, not measured",
	}
	if w.Goal == window.Green {
		out.Wanted = pointer(w.WantedCarry)
	}
	for _, r := range w.Line {
		out.Line = append(out.Line, reach(r))
	}
	if surface {
		for _, p := range w.Surface.Points {
			out.Surface = append(out.Surface, point(p))
		}
	}
	if w.Present != nil {
		p := point(*w.Present)
		out.Present, out.SpinCost = &p, pointer(w.SpinCost)
	}
	if s := w.Sensitivity; s != nil {
		change := func(c window.Change) windowPointJSON {
			p := point(c.Point)
			p.Loft, p.BallSpeed, p.Gain = pointer(c.Loft), pointer(c.BallSpeed), pointer(c.Gain)
			return p
		}
		out.Sensitivity = &sensitivityJSON{
			DynamicLoft: digits(s.DynamicLoft), Launch: digits(s.LaunchPerDeg), Spin: digits(s.SpinPerDeg),
			BallSpeed: digits(s.BallSpeedPerDeg), Carry: digits(s.CarryPerDeg), Loss: digits(s.LossPerDeg),
			CarryPerAttack: digits(s.CarryPerAttack), Advice: change(s.Advice),
		}
		for _, c := range s.Changes {
			out.Sensitivity.Changes = append(out.Sensitivity.Changes, change(c))
		}
	}
	return out
}

func printWindow(out io.Writer, w *window.Window) error {
	t := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	row := func(name string, p window.Point) {
		fmt.Fprintf(t, "%s\t%.1f deg\t%.0f rpm\t%.1f m\t%.1f yd\tlands %.0f deg\truns %.1f m*\n",
			name, p.Launch, p.Spin, p.Carry, p.Carry/yardMetres, p.Landing, p.Stop)
	}
	fmt.Fprintf(t, "\tlaunch\tspin\tcarry\t\t\t\n")
	row("best", w.Best.Point)
	if w.Present != nil {
		row("now", *w.Present)
	}
	row("ceiling", w.Surface.Ceiling)
	if err := t.Flush(); err != nil {
		return err
	}
	low, high := w.LineRange()
	fmt.Fprintf(out, "\nThe best is the best centred strike at this attack angle, with %.1f deg of dynamic loft.\n", w.Best.DynamicLoft)
	fmt.Fprintf(out, "Within 2 %% of it (%.1f m, %.1f yd): launch %.1f to %.1f deg with %.0f to %.0f rpm along that line.\n",
		w.Within, w.Within/yardMetres, low.Launch, high.Launch, low.Spin, high.Spin)
	fmt.Fprintf(out, "The ceiling takes %.0f %% of a centred strike's spin: a strike above the centre of gravity, or another attack.\n",
		100*w.Surface.Ceiling.SpinShare)
	if w.Present != nil {
		where := "outside the window"
		if w.In(*w.Present) {
			where = "in the window"
		}
		fmt.Fprintf(out, "Now: %s, %.1f m (%.1f yd) from the best; spin %.2f times a centred strike's.\n",
			where, digits(w.Present.Loss), digits(w.Present.Loss/yardMetres), w.Present.SpinShare)
		if w.SpinCost > 0.01*w.Best.Carry {
			fmt.Fprintf(out, "That spin costs %.1f m (%.1f yd) of carry against a centred strike's at the same launch.\n", w.SpinCost, w.SpinCost/yardMetres)
		}
		printSensitivity(out, w)
	}
	_, err := fmt.Fprintln(out, "* bounce and roll are of low confidence. All of it is computed from models: check it by hitting.")
	return err
}

// spinUnexplained is the share of a centred strike's spin above which the
// cause is not loft.
const (
	spinUnexplained = 1.25
	unexplainedSpin = "look at the strike height, the face and the ball: there is more spin than loft and attack explain."
)

func printSensitivity(out io.Writer, w *window.Window) {
	s := w.Sensitivity
	if s == nil {
		fmt.Fprintln(out, "The ball launches lower than a centred strike at this attack angle can: check strike and attack before loft.")
		return
	}
	fmt.Fprintf(out, "A degree of loft more: launch %+.2f deg, spin %+.0f rpm, ball speed %+.2f m/s, carry %+.1f m (%+.1f yd).\n",
		s.LaunchPerDeg, s.SpinPerDeg, s.BallSpeedPerDeg, s.CarryPerDeg, s.CarryPerDeg/yardMetres)
	fmt.Fprintf(out, "A degree of attack more: carry %+.1f m (%+.1f yd).\n", s.CarryPerAttack, s.CarryPerAttack/yardMetres)
	if s.Advice.Gain < 0.005*w.Best.Carry {
		fmt.Fprintf(out, "Loft alone changes little (best %+.1f deg, %.1f m): ", s.Advice.Loft, s.Advice.Gain)
		switch {
		case w.In(*w.Present):
			fmt.Fprintln(out, "the launch is about right.")
		case w.Present.SpinShare > spinUnexplained:
			fmt.Fprintln(out, unexplainedSpin)
		default:
			fmt.Fprintln(out, "look at attack and strike.")
		}
		return
	}
	if w.Present.SpinShare > spinUnexplained {
		fmt.Fprintf(out, "Before loft, %s\n", unexplainedSpin)
	}
	fmt.Fprintf(out, "Loft by %+.1f deg gains %.1f m (%.1f yd): launch %.1f deg, spin %.0f rpm.\n",
		s.Advice.Loft, s.Advice.Gain, s.Advice.Gain/yardMetres, s.Advice.Launch, s.Advice.Spin)
}
