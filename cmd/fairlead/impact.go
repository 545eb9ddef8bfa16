package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"fairlead/ingest/contract/glossary"
	"fairlead/ingest/contract/unit"
	"fairlead/processors/golf/flight"
	"fairlead/processors/golf/impact"
)

type impactOptions struct {
	air                                   airFlags
	speed, attack, loft, path, face, x, y *unit.Value
	mass, inertia, restitution            *unit.Value
	category, before                      string
	left, json, table                     bool
}

// plainHead is the category of a head as the published equations have it.
const plainHead = "plain"

func newImpactCommand() *cobra.Command {
	o := &impactOptions{
		speed: unit.NewValue(unit.Speed, 0), attack: unit.NewValue(unit.Angle, 0), loft: unit.NewValue(unit.Angle, 0),
		path: unit.NewValue(unit.Angle, 0), face: unit.NewValue(unit.Angle, 0),
		x: unit.NewValue(unit.Length, 0), y: unit.NewValue(unit.Length, 0),
		mass: unit.NewValue(unit.Mass, 0.2), inertia: unit.NewValue(unit.Inertia, 5e-4), restitution: unit.NewValue(unit.Ratio, 0),
	}
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
		Args: noArguments,
		RunE: func(c *cobra.Command, _ []string) error { return runImpact(c, o) },
	}
	f := c.Flags()
	f.Var(o.speed, "head-speed", "clubhead speed (required)")
	f.Var(o.attack, "attack", "attack angle, positive when the head rises")
	f.Var(o.loft, "dynamic-loft", "loft of the face at the strike, against the vertical (required)")
	f.Var(o.path, "path", "club path, positive right of the target")
	f.Var(o.face, "face", "face angle, positive right of the target")
	f.Var(o.x, "strike-x", "strike from the face's centre, positive toward the toe")
	f.Var(o.y, "strike-y", "strike above the face's centre")
	f.Var(o.mass, "head-mass", "head mass (the category's when left out)")
	f.Var(o.inertia, "head-inertia", "head inertia about the vertical, such as 4800gcm2 (the category's when left out)")
	f.Var(o.restitution, "e", "coefficient of restitution (from the head and the speed when left out)")
	f.StringVar(&o.category, "category", plainHead, "head: plain, "+strings.Join(glossary.CategoryNames(), ", "))
	f.StringVar(&o.before, "before", "", "how the delivery was before, as FLAG=VALUE,...: split the change")
	f.BoolVar(&o.left, "left", false, "a left-handed player: the toe points left of the target")
	f.BoolVar(&o.table, "table", false, "compute a bag of clubs from the driver's clubhead speed")
	f.BoolVar(&o.json, "json", false, "print JSON")
	o.air.register(c)
	return c
}

// head is the category's head with what the flags change.
func (o *impactOptions) head() (impact.Head, error) {
	var h impact.Head
	if o.category == plainHead {
		h = impact.PennerHead(o.mass.V)
		h.InertiaVertical, h.InertiaHeelToe = o.inertia.V, 3e-4
	} else {
		var err error
		if h, err = impact.DefaultHead(o.category); err != nil {
			return h, fmt.Errorf("--category %s: use %s, %s", o.category, plainHead, strings.Join(glossary.CategoryNames(), ", "))
		}
	}
	if o.mass.Given {
		h.Mass = o.mass.V
	}
	if o.inertia.Given {
		h.InertiaVertical = o.inertia.V
	}
	if o.restitution.Given {
		if o.restitution.V <= 0 {
			return h, fmt.Errorf("--e %g: give a coefficient of restitution above 0, such as 0.83", o.restitution.V)
		}
		h.Restitution = o.restitution.V
	}
	return h, h.Check()
}

func runImpact(c *cobra.Command, o *impactOptions) error {
	if !o.speed.Given {
		return &usageError{errors.New("an impact needs --head-speed")}
	}
	conditions, err := o.air.conditions()
	if err != nil {
		return err
	}
	if o.table {
		return runImpactTable(c, o, conditions)
	}
	if !o.loft.Given {
		return &usageError{errors.New("an impact needs --dynamic-loft")}
	}
	head, err := o.head()
	if err != nil {
		return &usageError{err}
	}
	d := impact.Delivery{
		HeadSpeed: o.speed.V, Attack: o.attack.V, DynamicLoft: o.loft.V, Path: o.path.V, Face: o.face.V,
		StrikeX: o.x.V, StrikeY: o.y.V, LeftHanded: o.left,
	}
	r, err := impact.Strike(d, head)
	if err != nil {
		return &usageError{err}
	}
	f, err := flight.Simulate(r.Launch, conditions)
	if err != nil {
		return &usageError{fmt.Errorf("flight: %w", err)}
	}
	out := impactOut(d, r, f, o.category)
	if o.before != "" {
		was, err := earlierDelivery(d, o.before)
		if err != nil {
			return &usageError{err}
		}
		whole, parts, err := impact.Attribute(impact.Swing{Delivery: was, Head: head}, impact.Swing{Delivery: d, Head: head}, conditions)
		if err != nil {
			return &usageError{fmt.Errorf("before: %w", err)}
		}
		out.Change = &impactChangeJSON{Whole: effectOut("whole", whole)}
		for _, p := range parts {
			if p.Factor != "head" { // one head here
				out.Change.Parts = append(out.Change.Parts, effectOut(p.Factor, p.Effect))
			}
		}
	}
	if o.json {
		e := json.NewEncoder(c.OutOrStdout())
		e.SetIndent("", "  ")
		return e.Encode(out)
	}
	return printImpact(c.OutOrStdout(), out)
}

// earlierDelivery is d with the values of FLAG=VALUE pairs.
func earlierDelivery(d impact.Delivery, pairs string) (impact.Delivery, error) {
	fields := map[string]struct {
		quantity unit.Quantity
		to       *float64
	}{
		"head-speed": {unit.Speed, &d.HeadSpeed}, "attack": {unit.Angle, &d.Attack}, "dynamic-loft": {unit.Angle, &d.DynamicLoft},
		"path": {unit.Angle, &d.Path}, "face": {unit.Angle, &d.Face},
		"strike-x": {unit.Length, &d.StrikeX}, "strike-y": {unit.Length, &d.StrikeY},
	}
	for _, pair := range strings.Split(pairs, ",") {
		name, value, ok := strings.Cut(strings.TrimSpace(pair), "=")
		f, known := fields[name]
		if !ok || !known {
			return d, fmt.Errorf("--before %q: write FLAG=VALUE with head-speed, attack, dynamic-loft, path, face, strike-x or strike-y", pair)
		}
		v, err := unit.Parse(f.quantity, value)
		if err != nil {
			return d, fmt.Errorf("--before %s: %w", name, err)
		}
		*f.to = v
	}
	return d, nil
}

// impactJSON is an impact as the command prints it; right and toe are positive.
type impactJSON struct {
	Head        string            `json:"head"`
	HeadSpeed   float64           `json:"head_speed_mps"`
	Attack      float64           `json:"attack_deg"`
	DynamicLoft float64           `json:"dynamic_loft_deg"`
	Path        float64           `json:"path_deg"`
	Face        float64           `json:"face_deg"`
	StrikeX     float64           `json:"strike_x_m"`
	StrikeY     float64           `json:"strike_y_m"`
	LeftHanded  bool              `json:"left_handed"`
	BallSpeed   float64           `json:"ball_speed_mps"`
	Launch      float64           `json:"launch_deg"`
	Direction   float64           `json:"direction_deg"`
	Spin        float64           `json:"spin_rpm"`
	Axis        float64           `json:"axis_deg"`
	Smash       float64           `json:"smash"`
	SpinLoft    float64           `json:"spin_loft_deg"`
	Restitution float64           `json:"e"`
	Mass        float64           `json:"effective_mass_kg"`
	Twist       float64           `json:"twist_deg"`
	Tilt        float64           `json:"tilt_deg"`
	Gear        float64           `json:"gear_sidespin_rpm"`
	GearBack    float64           `json:"gear_backspin_rpm"`
	Slipped     bool              `json:"slipped"`
	Carry       float64           `json:"carry_m"`
	Offline     float64           `json:"offline_m"`
	Flags       []string          `json:"flags"`
	Change      *impactChangeJSON `json:"change,omitempty"`
}

type impactChangeJSON struct {
	Whole effectJSON   `json:"whole"`
	Parts []effectJSON `json:"parts"`
}

type effectJSON struct {
	Factor    string  `json:"factor"`
	BallSpeed float64 `json:"ball_speed_mps"`
	Launch    float64 `json:"launch_deg"`
	Direction float64 `json:"direction_deg"`
	Spin      float64 `json:"spin_rpm"`
	Axis      float64 `json:"axis_deg"`
	Carry     float64 `json:"carry_m"`
	Offline   float64 `json:"offline_m"`
}

func effectOut(factor string, e impact.Effect) effectJSON {
	return effectJSON{factor, digits(e.BallSpeed), digits(e.Launch), digits(e.Direction), digits(e.Spin), digits(e.Axis), digits(e.Carry), digits(e.Offline)}
}

func impactOut(d impact.Delivery, r impact.Result, f flight.Result, head string) impactJSON {
	return impactJSON{
		Head: head, HeadSpeed: digits(d.HeadSpeed), Attack: digits(d.Attack), DynamicLoft: digits(d.DynamicLoft),
		Path: digits(d.Path), Face: digits(d.Face), StrikeX: digits(d.StrikeX), StrikeY: digits(d.StrikeY), LeftHanded: d.LeftHanded,
		BallSpeed: digits(r.Launch.BallSpeed), Launch: digits(r.Launch.Angle), Direction: digits(r.Launch.Direction),
		Spin: digits(r.Launch.SpinRate), Axis: digits(r.Launch.SpinAxis), Smash: digits(r.Smash), SpinLoft: digits(r.SpinLoft),
		Restitution: digits(r.Restitution), Mass: digits(r.EffectiveMass), Twist: digits(r.Twist), Tilt: digits(r.Tilt),
		Gear: digits(r.Gear), GearBack: digits(r.GearBack), Slipped: r.Slipped,
		Carry: digits(f.Carry), Offline: digits(f.Offline), Flags: f.Flags.Names(),
	}
}

func printImpact(w io.Writer, r impactJSON) error {
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
	fmt.Fprintf(t, "carry\t%.1f m\t%.1f yd\n", r.Carry, r.Carry/yardMetres)
	fmt.Fprintf(t, "offline\t%+.1f m\t%+.1f yd\n", r.Offline, digits(r.Offline/yardMetres))
	if err := t.Flush(); err != nil || r.Change == nil {
		return err
	}
	fmt.Fprintln(w, "\nWhat changed it since before:")
	t = tabwriter.NewWriter(w, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(t, "\tball m/s\tlaunch deg\tdirection deg\tspin rpm\taxis deg\tcarry m\toffline m\t")
	for _, e := range append(r.Change.Parts, r.Change.Whole) {
		fmt.Fprintf(t, "%s\t%+.2f\t%+.2f\t%+.2f\t%+.0f\t%+.1f\t%+.1f\t%+.1f\t\n", e.Factor, e.BallSpeed, e.Launch, e.Direction, e.Spin, e.Axis, e.Carry, e.Offline)
	}
	return t.Flush()
}
