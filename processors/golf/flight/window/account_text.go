package window

import (
	"fmt"
	"io"
	"text/tabwriter"

	"fairlead/ingest/contract/unit"
)

// WriteText tells of a window in words.
func (w *Window) WriteText(out io.Writer) error {
	t := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	row := func(name string, p Point) {
		fmt.Fprintf(t, "%s\t%.1f deg\t%.0f rpm\t%.1f m\t%.1f yd\tlands %.0f deg\truns %.1f m*\n",
			name, p.Launch, p.Spin, p.Carry, p.Carry/unit.Yard, p.Landing, p.Stop)
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
		w.Within, w.Within/unit.Yard, low.Launch, high.Launch, low.Spin, high.Spin)
	fmt.Fprintf(out, "The ceiling takes %.0f %% of a centred strike's spin: a strike above the centre of gravity, or another attack.\n",
		100*w.Surface.Ceiling.SpinShare)
	if w.Present != nil {
		where := "outside the window"
		if w.In(*w.Present) {
			where = "in the window"
		}
		fmt.Fprintf(out, "Now: %s, %.1f m (%.1f yd) from the best; spin %.2f times a centred strike's.\n",
			where, unit.Rounded(w.Present.Loss), unit.Rounded(w.Present.Loss/unit.Yard), w.Present.SpinShare)
		if w.SpinCost > 0.01*w.Best.Carry {
			fmt.Fprintf(out, "That spin costs %.1f m (%.1f yd) of carry against a centred strike's at the same launch.\n", w.SpinCost,
				w.SpinCost/unit.Yard)
		}
		w.writeLoft(out)
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

// writeLoft says what a change of loft does.
func (w *Window) writeLoft(out io.Writer) {
	s := w.Sensitivity
	if s == nil {
		fmt.Fprintln(out, "The ball launches lower than a centred strike at this attack angle can: check strike and attack before loft.")
		return
	}
	fmt.Fprintf(out, "A degree of loft more: launch %+.2f deg, spin %+.0f rpm, ball speed %+.2f m/s, carry %+.1f m (%+.1f yd).\n",
		s.LaunchPerDeg, s.SpinPerDeg, s.BallSpeedPerDeg, s.CarryPerDeg, s.CarryPerDeg/unit.Yard)
	fmt.Fprintf(out, "A degree of attack more: carry %+.1f m (%+.1f yd).\n", s.CarryPerAttack, s.CarryPerAttack/unit.Yard)
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
		s.Advice.Loft, s.Advice.Gain, s.Advice.Gain/unit.Yard, s.Advice.Launch, s.Advice.Spin)
}
