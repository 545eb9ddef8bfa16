package impact

import (
	"fmt"
	"io"
	"text/tabwriter"

	"fairlead/ingest/contract/unit"
)

// WriteText tells of an impact in words.
func (r Account) WriteText(w io.Writer) error {
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintf(t, "ball speed\t%.2f m/s\t%.1f mph\n", r.BallSpeed, r.BallSpeed/unit.MPH)
	fmt.Fprintf(t, "smash\t%.3f\n", r.Smash)
	fmt.Fprintf(t, "launch\t%.2f deg\n", r.Launch)
	fmt.Fprintf(t, "direction\t%+.2f deg\n", r.Direction)
	fmt.Fprintf(t, "spin\t%.0f rpm\n", r.Spin)
	fmt.Fprintf(t, "spin axis\t%+.2f deg\n", r.Axis)
	fmt.Fprintf(t, "spin loft\t%.2f deg\n", r.SpinLoft)
	if r.Gear != 0 || r.GearBack != 0 {
		fmt.Fprintf(t, "gear effect\t%+.0f rpm to the side\t%+.0f rpm of backspin\n", r.Gear, r.GearBack)
	}
	if r.Slipped {
		fmt.Fprintf(t, "grip\tthe ball slid on the face\n")
	}
	fmt.Fprintf(t, "carry\t%.1f m\t%.1f yd\n", r.Carry, r.Carry/unit.Yard)
	fmt.Fprintf(t, "offline\t%+.1f m\t%+.1f yd\n", r.Offline, unit.Rounded(r.Offline/unit.Yard))
	if err := t.Flush(); err != nil || r.Change == nil {
		return err
	}
	fmt.Fprintln(w, "\nWhat changed it since before:")
	t = tabwriter.NewWriter(w, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(t, "\tball m/s\tlaunch deg\tdirection deg\tspin rpm\taxis deg\tcarry m\toffline m\t")
	for _, e := range append(r.Change.Parts, r.Change.Whole) {
		fmt.Fprintf(t, "%s\t%+.2f\t%+.2f\t%+.2f\t%+.0f\t%+.1f\t%+.1f\t%+.1f\t\n", e.Factor, e.BallSpeed, e.Launch, e.Direction, e.Spin, e.Axis,
			e.Carry, e.Offline)
	}
	return t.Flush()
}
