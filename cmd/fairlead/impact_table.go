package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"fairlead/processors/golf/flight"
	"fairlead/processors/golf/impact"
)

// impactTableNote is what the table must never be shown without.
const impactTableNote = "computed from the impact and flight models with deliveries that are conventional in the trade; not measured"

type impactTableJSON struct {
	Note  string           `json:"note"`
	Clubs []impactClubJSON `json:"clubs"`
}

type impactClubJSON struct {
	Club    string  `json:"club"`
	Landing float64 `json:"landing_deg"`
	Apex    float64 `json:"apex_m"`
	impactJSON
}

func runImpactTable(c *cobra.Command, o *impactOptions, conditions flight.Conditions) error {
	if o.loft.Given || o.attack.Given || o.path.Given || o.face.Given || o.x.Given || o.y.Given || o.before != "" {
		return &usageError{errors.New("--table takes only --head-speed, the driver's, and the air: its deliveries are its own")}
	}
	rows, err := impact.Table(o.speed.V, conditions)
	if err != nil {
		return &usageError{err}
	}
	if o.json {
		out := impactTableJSON{Note: impactTableNote}
		for _, r := range rows {
			out.Clubs = append(out.Clubs, impactClubJSON{
				Club: r.Club.Name, Landing: digits(r.Flight.LandingAngle), Apex: digits(r.Flight.Apex),
				impactJSON: impactOut(r.Delivery, r.Impact, r.Flight, r.Club.Category),
			})
		}
		e := json.NewEncoder(c.OutOrStdout())
		e.SetIndent("", "  ")
		return e.Encode(out)
	}
	t := tabwriter.NewWriter(c.OutOrStdout(), 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(t, "club\thead m/s\tattack\tdyn. loft\tball m/s\tsmash\tlaunch\tspin rpm\tcarry m\tcarry yd\tapex m\tlands\t")
	for _, r := range rows {
		l := r.Impact.Launch
		fmt.Fprintf(t, "%s\t%.1f\t%+.1f\t%.1f\t%.1f\t%.2f\t%.1f\t%.0f\t%.0f\t%.0f\t%.0f\t%.0f\t\n", r.Club.Name, r.Delivery.HeadSpeed,
			r.Delivery.Attack, r.Delivery.DynamicLoft, l.BallSpeed, r.Impact.Smash, l.Angle, l.SpinRate,
			r.Flight.Carry, r.Flight.Carry/yardMetres, r.Flight.Apex, r.Flight.LandingAngle)
	}
	if err := t.Flush(); err != nil {
		return err
	}
	_, err = fmt.Fprintf(c.OutOrStdout(), "\nNote: %s.\n", impactTableNote)
	return err
}
