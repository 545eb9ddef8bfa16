package main

import (
	"errors"

	"github.com/spf13/cobra"

	"fairlead/cmd/frame"
	"fairlead/ingest/contract/unit"
	"fairlead/processors/golf/club"
)

func newClubSwingWeightCommand() *cobra.Command {
	var to string
	c := &cobra.Command{
		Use:   "swingweight",
		Short: "Swing weight, balance and inertia of a club, what a change does, and how to reach a target",
		Long: `Swing weight, balance point and inertia about the butt, from a club's parts or
from its measured mass and balance point (--mass and --balance). D0 is 213.5
in·oz about a fulcrum 14 in from the butt, a point is 1.75 in·oz.`,
		Example: `  fairlead club swingweight --length 45in --head 200g --shaft 65g --grip 50g --add-length 0.5in
  fairlead club swingweight --length 37in --head 270g --shaft 115g --grip 50g --to D4
  fairlead club swingweight --mass 435g --balance 28.1in --json`,
	}
	f := frame.UnitFlags{Command: c}
	length := f.Add(unit.Length, "length", 0, "playing length, butt to sole")
	head := f.Add(unit.Mass, "head", 0, "head mass")
	shaft := f.Add(unit.Mass, "shaft", 0, "shaft mass as cut")
	grip := f.Add(unit.Mass, "grip", 0, "grip mass with tape")
	shaftLength := f.Add(unit.Length, "shaft-length", 0, "shaft length as cut (default: playing length less 1 in)")
	shaftBalance := f.Add(unit.Ratio, "shaft-balance", 0.5, "shaft's balance point from the butt, as a share of its length")
	gripCentre := f.Add(unit.Length, "grip-centre", 4*club.Inch, "grip's centre of mass from the butt")
	mass := f.Add(unit.Mass, "mass", 0, "measured mass of the whole club")
	balance := f.Add(unit.Length, "balance", 0, "measured balance point from the butt")
	addHead := f.Add(unit.Mass, "add-head", 0, "change of head mass")
	addShaft := f.Add(unit.Mass, "add-shaft", 0, "change of shaft mass")
	addGrip := f.Add(unit.Mass, "add-grip", 0, "change of grip mass")
	addLength := f.Add(unit.Length, "add-length", 0, "change of length, the shaft cut for it")
	c.Flags().StringVar(&to, "to", "", "wanted swing weight, such as D3")
	c.Flags().Bool("json", false, "write one JSON object")
	c.RunE = func(c *cobra.Command, _ []string) error {
		ch := club.Change{Head: addHead.V, Shaft: addShaft.V, Grip: addGrip.V, Length: addLength.V}
		changed := addHead.Given || addShaft.Given || addGrip.Given || addLength.Given
		measured := mass.Given || balance.Given
		if measured && (!mass.Given || !balance.Given || length.Given || head.Given || changed || to != "") {
			return frame.Use(errors.New("--mass and --balance go together and alone: a change or a target needs the parts"))
		}
		var out club.HeftAccount
		var err error
		if measured {
			out, err = club.TellMeasured(mass.V, balance.V)
		} else {
			out, err = club.TellHeft(club.Club{Length: length.V, HeadMass: head.V, ShaftMass: shaft.V, ShaftLength: shaftLength.V,
				ShaftBalance: shaftBalance.V, GripMass: grip.V, GripCentre: gripCentre.V}, ch, changed, to)
		}
		if err != nil {
			return err
		}
		return frame.Tell(c, out, out)
	}
	return c
}
