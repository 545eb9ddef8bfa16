package main

import (
	"fmt"
	"io"

	"fairlead/ingest/contract/unit"
	"fairlead/processors/golf/club"
	"github.com/spf13/cobra"
)

// heftJSON is a club's heft; keys carry the unit.
type heftJSON struct {
	Mass       float64 `json:"mass_kg"`
	Balance    float64 `json:"balance_m"`
	Moment     float64 `json:"moment_kgm"`
	SwingText  string  `json:"swing_weight"`
	SwingPoint float64 `json:"swing_weight_points_above_a0"`
	Inertia    float64 `json:"inertia_butt_kgm2,omitempty"`
}

type swingWeightJSON struct {
	heftJSON
	PerPoint *perPointJSON `json:"per_point,omitempty"`
	After    *heftJSON     `json:"after,omitempty"`
	Points   *float64      `json:"change_points,omitempty"`
	Target   *targetJSON   `json:"target,omitempty"`
}

type perPointJSON struct {
	Head   float64 `json:"head_kg"`
	Shaft  float64 `json:"shaft_kg"`
	Grip   float64 `json:"grip_kg"`
	Length float64 `json:"length_m"`
}

// targetJSON holds the ways to a wanted swing weight; a way that no real part
// could go is left out.
type targetJSON struct {
	SwingWeight   string   `json:"swing_weight"`
	Head          *float64 `json:"head_kg,omitempty"`
	Length        *float64 `json:"length_m,omitempty"`
	Counterweight *float64 `json:"butt_weight_kg,omitempty"`
}

func newClubSwingWeightCommand() *cobra.Command {
	var asJSON bool
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
		Args: noClubArgs,
	}
	f := clubFlags{c}
	length := f.add(unit.Length, "length", 0, "playing length, butt to sole")
	head := f.add(unit.Mass, "head", 0, "head mass")
	shaft := f.add(unit.Mass, "shaft", 0, "shaft mass as cut")
	grip := f.add(unit.Mass, "grip", 0, "grip mass with tape")
	shaftLength := f.add(unit.Length, "shaft-length", 0, "shaft length as cut (default: playing length less 1 in)")
	shaftBalance := f.add(unit.Ratio, "shaft-balance", 0.5, "shaft's balance point from the butt, as a share of its length")
	gripCentre := f.add(unit.Length, "grip-centre", 4*club.Inch, "grip's centre of mass from the butt")
	mass := f.add(unit.Mass, "mass", 0, "measured mass of the whole club")
	balance := f.add(unit.Length, "balance", 0, "measured balance point from the butt")
	addHead := f.add(unit.Mass, "add-head", 0, "change of head mass")
	addShaft := f.add(unit.Mass, "add-shaft", 0, "change of shaft mass")
	addGrip := f.add(unit.Mass, "add-grip", 0, "change of grip mass")
	addLength := f.add(unit.Length, "add-length", 0, "change of length, the shaft cut for it")
	c.Flags().StringVar(&to, "to", "", "wanted swing weight, such as D3")
	c.Flags().BoolVar(&asJSON, "json", false, "write one JSON object")
	c.RunE = func(c *cobra.Command, _ []string) error {
		ch := club.Change{Head: addHead.V, Shaft: addShaft.V, Grip: addGrip.V, Length: addLength.V}
		changed := addHead.Given || addShaft.Given || addGrip.Given || addLength.Given
		var out swingWeightJSON
		if mass.Given || balance.Given {
			if !mass.Given || !balance.Given || length.Given || head.Given || changed || to != "" {
				return &usageError{fmt.Errorf("--mass and --balance go together and alone: a change or a target needs the parts")}
			}
			s, err := club.MeasuredSwingWeight(mass.V, balance.V)
			if err != nil {
				return clubUse(err)
			}
			out.heftJSON = heftJSON{mass.V, balance.V, s.Moment(), s.String(), float64(s), 0}
		} else {
			model := club.Club{Length: length.V, HeadMass: head.V, ShaftMass: shaft.V, ShaftLength: shaftLength.V,
				ShaftBalance: shaftBalance.V, GripMass: grip.V, GripCentre: gripCentre.V}
			var err error
			if out, err = swingWeight(model, ch, changed, to); err != nil {
				return clubUse(err)
			}
		}
		if asJSON {
			return writeClubJSON(c.OutOrStdout(), out)
		}
		return printSwingWeight(c.OutOrStdout(), out)
	}
	return c
}

func swingWeight(model club.Club, ch club.Change, changed bool, to string) (swingWeightJSON, error) {
	e, err := model.Effect(ch)
	if err != nil {
		return swingWeightJSON{}, err
	}
	p, err := model.PerPoint()
	if err != nil {
		return swingWeightJSON{}, err
	}
	out := swingWeightJSON{heftJSON: heft(e.Before), PerPoint: &perPointJSON{p.Head, p.Shaft, p.Grip, p.Length}}
	if changed {
		after := heft(e.After)
		out.After, out.Points = &after, &e.Points
	}
	if to == "" {
		return out, nil
	}
	want, err := club.ParseSwingWeight(to)
	if err != nil {
		return swingWeightJSON{}, err
	}
	model = model.With(ch)
	t := targetJSON{SwingWeight: want.String()}
	if v, err := model.HeadFor(want); err == nil {
		t.Head = &v
	}
	if v, err := model.LengthFor(want); err == nil {
		t.Length = &v
	}
	if v, err := model.CounterweightFor(want, 0); err == nil {
		t.Counterweight = &v
	}
	out.Target = &t
	return out, nil
}

func heft(h club.Heft) heftJSON {
	return heftJSON{h.Mass, h.Balance, h.Moment, h.SwingWeight.String(), float64(h.SwingWeight), h.Inertia}
}

func printSwingWeight(w io.Writer, o swingWeightJSON) error {
	line := func(name string, h heftJSON) {
		fmt.Fprintf(w, "%-14s %-6s %.1f g, balances %.2f in (%.3f m) from the butt", name, h.SwingText, h.Mass*1e3, h.Balance/club.Inch, h.Balance)
		if h.Inertia > 0 {
			fmt.Fprintf(w, ", inertia %.0f kg·cm²", h.Inertia*1e4)
		}
		fmt.Fprintln(w)
	}
	line("swing weight", o.heftJSON)
	if o.After != nil {
		line("changed", *o.After)
		fmt.Fprintf(w, "%-14s %+.1f points, inertia %+.2f %%\n", "difference", *o.Points, 100*(o.After.Inertia/o.Inertia-1))
	}
	if p := o.PerPoint; p != nil {
		fmt.Fprintf(w, "%-14s head %+.1f g, shaft %+.1f g, grip %+.1f g, or length %+.2f in\n", "a point up is", p.Head*1e3, p.Shaft*1e3, p.Grip*1e3, p.Length/club.Inch)
	}
	if t := o.Target; t != nil {
		fmt.Fprintf(w, "for %s, one of:\n", t.SwingWeight)
		if t.Head != nil {
			fmt.Fprintf(w, "  a head of %.1f g\n", *t.Head*1e3)
		}
		if t.Length != nil {
			fmt.Fprintf(w, "  a length of %.2f in (%.4f m), the shaft cut for it\n", *t.Length/club.Inch, *t.Length)
		}
		if t.Counterweight != nil {
			fmt.Fprintf(w, "  %.1f g at the butt (heavier to lift, no lighter to swing)\n", *t.Counterweight*1e3)
		}
		if t.Head == nil && t.Length == nil && t.Counterweight == nil {
			fmt.Fprintln(w, "  no single part reaches it: change two")
		}
	}
	return nil
}
