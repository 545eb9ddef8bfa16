package main

import (
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"fairlead/ingest/contract/glossary"
	"fairlead/ingest/contract/unit"
	"fairlead/processors/golf/flight"
	"fairlead/processors/golf/impact"
)

type impactOptions struct {
	air                                   *flight.Weather
	head                                  impact.WrittenHead
	speed, attack, loft, path, face, x, y *unit.Value
	before                                string
	left, json, table                     bool
}

func newImpactCommand() *cobra.Command {
	o := &impactOptions{
		air: flight.NewWeather(), head: impact.NewWrittenHead(),
		speed: unit.NewValue(unit.Speed, 0), attack: unit.NewValue(unit.Angle, 0), loft: unit.NewValue(unit.Angle, 0),
		path: unit.NewValue(unit.Angle, 0), face: unit.NewValue(unit.Angle, 0),
		x: unit.NewValue(unit.Length, 0), y: unit.NewValue(unit.Length, 0),
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
	f.Var(o.head.Mass, "head-mass", "head mass (the category's when left out)")
	f.Var(o.head.Inertia, "head-inertia", "head inertia about the vertical, such as 4800gcm2 (the category's when left out)")
	f.Var(o.head.Restitution, "e", "coefficient of restitution (from the head and the speed when left out)")
	f.StringVar(&o.head.Category, "category", impact.PlainHead, "head: plain, "+strings.Join(glossary.CategoryNames(), ", "))
	f.StringVar(&o.before, "before", "", "how the delivery was before, as FLAG=VALUE,...: split the change")
	f.BoolVar(&o.left, "left", false, "a left-handed player: the toe points left of the target")
	f.BoolVar(&o.table, "table", false, "compute a bag of clubs from the driver's clubhead speed")
	f.BoolVar(&o.json, "json", false, "print JSON")
	airFlags(c, o.air)
	return c
}

func runImpact(c *cobra.Command, o *impactOptions) error {
	if !o.speed.Given {
		return use(errors.New("an impact needs --head-speed"))
	}
	conditions, err := o.air.Conditions()
	if err != nil {
		return use(err)
	}
	if o.table {
		return runImpactTable(c, o, conditions)
	}
	if !o.loft.Given {
		return use(errors.New("an impact needs --dynamic-loft"))
	}
	head, err := o.head.Head()
	if err != nil {
		return use(err)
	}
	d := impact.Delivery{
		HeadSpeed: o.speed.V, Attack: o.attack.V, DynamicLoft: o.loft.V, Path: o.path.V, Face: o.face.V,
		StrikeX: o.x.V, StrikeY: o.y.V, LeftHanded: o.left,
	}
	r, err := impact.Strike(d, head)
	if err != nil {
		return use(err)
	}
	f, err := flight.Simulate(r.Launch, conditions)
	if err != nil {
		return use(fmt.Errorf("flight: %w", err))
	}
	out := impact.Tell(d, r, f, o.head.Category)
	if o.before != "" {
		was, err := d.Earlier(o.before)
		if err != nil {
			return use(err)
		}
		if err := out.TellChange(was, d, head, conditions); err != nil {
			return use(fmt.Errorf("before: %w", err))
		}
	}
	if o.json {
		return printJSON(c.OutOrStdout(), out)
	}
	return out.WriteText(c.OutOrStdout())
}

func runImpactTable(c *cobra.Command, o *impactOptions, conditions flight.Conditions) error {
	if o.loft.Given || o.attack.Given || o.path.Given || o.face.Given || o.x.Given || o.y.Given || o.before != "" {
		return use(errors.New("--table takes only --head-speed, the driver's, and the air: its deliveries are its own"))
	}
	rows, err := impact.Table(o.speed.V, conditions)
	if err != nil {
		return use(err)
	}
	if o.json {
		return printJSON(c.OutOrStdout(), impact.TellTable(rows))
	}
	return impact.WriteTable(c.OutOrStdout(), rows)
}
