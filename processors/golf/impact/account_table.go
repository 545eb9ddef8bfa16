package impact

import (
	"fmt"
	"io"
	"text/tabwriter"

	"fairlead/ingest/contract/unit"
)

// TableNote is what the table must never be shown without.
const TableNote = "computed from the impact and flight models with deliveries that are conventional in the trade; not measured"

// TableAccount is a bag as it is told in JSON.
type TableAccount struct {
	Note  string        `json:"note"`
	Clubs []accountClub `json:"clubs"`
}

// accountClub is one club of it.
type accountClub struct {
	Club    string  `json:"club"`
	Landing float64 `json:"landing_deg"`
	Apex    float64 `json:"apex_m"`
	Account
}

// Computation is a bag that was computed.
type Computation []Computed

// Account tells of a bag.
func (rows Computation) Account() TableAccount {
	out := TableAccount{Note: TableNote}
	for _, r := range rows {
		out.Clubs = append(out.Clubs, accountClub{
			Club: r.Club.Name, Landing: unit.Rounded(r.Flight.LandingAngle), Apex: unit.Rounded(r.Flight.Apex),
			Account: Tell(r.Delivery, r.Impact, r.Flight, r.Club.Category),
		})
	}
	return out
}

// WriteText writes a bag as a table for people.
func (rows Computation) WriteText(w io.Writer) error {
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(t, "club\thead m/s\tattack\tdyn. loft\tball m/s\tsmash\tlaunch\tspin rpm\tcarry m\tcarry yd\tapex m\tlands\t")
	for _, r := range rows {
		l := r.Impact.Launch
		fmt.Fprintf(t, "%s\t%.1f\t%+.1f\t%.1f\t%.1f\t%.2f\t%.1f\t%.0f\t%.0f\t%.0f\t%.0f\t%.0f\t\n", r.Club.Name, r.Delivery.HeadSpeed,
			r.Delivery.Attack, r.Delivery.DynamicLoft, l.BallSpeed, r.Impact.Smash, l.Angle, l.SpinRate,
			r.Flight.Carry, r.Flight.Carry/unit.Yard, r.Flight.Apex, r.Flight.LandingAngle)
	}
	if err := t.Flush(); err != nil {
		return err
	}
	_, err := fmt.Fprintf(w, "\nNote: %s.\n", TableNote)
	return err
}
