package impact

import (
	"fairlead/ingest/contract/unit"
	"fairlead/processors/golf/flight"
)

// Account is an impact as it is told: as JSON, whose keys say their unit, and as
// text. Right and toe are positive.
type Account struct {
	Head        string         `json:"head"`
	HeadSpeed   float64        `json:"head_speed_mps"`
	Attack      float64        `json:"attack_deg"`
	DynamicLoft float64        `json:"dynamic_loft_deg"`
	Path        float64        `json:"path_deg"`
	Face        float64        `json:"face_deg"`
	StrikeX     float64        `json:"strike_x_m"`
	StrikeY     float64        `json:"strike_y_m"`
	LeftHanded  bool           `json:"left_handed"`
	BallSpeed   float64        `json:"ball_speed_mps"`
	Launch      float64        `json:"launch_deg"`
	Direction   float64        `json:"direction_deg"`
	Spin        float64        `json:"spin_rpm"`
	Axis        float64        `json:"axis_deg"`
	Smash       float64        `json:"smash"`
	SpinLoft    float64        `json:"spin_loft_deg"`
	Restitution float64        `json:"e"`
	Mass        float64        `json:"effective_mass_kg"`
	Twist       float64        `json:"twist_deg"`
	Tilt        float64        `json:"tilt_deg"`
	Gear        float64        `json:"gear_sidespin_rpm"`
	GearBack    float64        `json:"gear_backspin_rpm"`
	Slipped     bool           `json:"slipped"`
	Carry       float64        `json:"carry_m"`
	Offline     float64        `json:"offline_m"`
	Flags       []string       `json:"flags"`
	Change      *AccountChange `json:"change,omitempty"`
}

// AccountChange is what a delivery changed against an earlier one, in whole and in
// parts.
type AccountChange struct {
	Whole accountEffect   `json:"whole"`
	Parts []accountEffect `json:"parts"`
}

// accountEffect is the share of one factor.
type accountEffect struct {
	Factor    string  `json:"factor"`
	BallSpeed float64 `json:"ball_speed_mps"`
	Launch    float64 `json:"launch_deg"`
	Direction float64 `json:"direction_deg"`
	Spin      float64 `json:"spin_rpm"`
	Axis      float64 `json:"axis_deg"`
	Carry     float64 `json:"carry_m"`
	Offline   float64 `json:"offline_m"`
}

func tellEffect(factor string, e Effect) accountEffect {
	return accountEffect{factor, unit.Rounded(e.BallSpeed), unit.Rounded(e.Launch), unit.Rounded(e.Direction), unit.Rounded(e.Spin),
		unit.Rounded(e.Axis), unit.Rounded(e.Carry), unit.Rounded(e.Offline)}
}

// Tell tells of a strike and its flight; head names the head.
func Tell(d Delivery, r Result, f flight.Result, head string) Account {
	return Account{
		Head: head, HeadSpeed: unit.Rounded(d.HeadSpeed), Attack: unit.Rounded(d.Attack), DynamicLoft: unit.Rounded(d.DynamicLoft),
		Path: unit.Rounded(d.Path), Face: unit.Rounded(d.Face), StrikeX: unit.Rounded(d.StrikeX), StrikeY: unit.Rounded(d.StrikeY),
		LeftHanded: d.LeftHanded,
		BallSpeed:  unit.Rounded(r.Launch.BallSpeed), Launch: unit.Rounded(r.Launch.Angle), Direction: unit.Rounded(r.Launch.Direction),
		Spin: unit.Rounded(r.Launch.SpinRate), Axis: unit.Rounded(r.Launch.SpinAxis), Smash: unit.Rounded(r.Smash),
		SpinLoft:    unit.Rounded(r.SpinLoft),
		Restitution: unit.Rounded(r.Restitution), Mass: unit.Rounded(r.EffectiveMass), Twist: unit.Rounded(r.Twist), Tilt: unit.Rounded(r.Tilt),
		Gear: unit.Rounded(r.Gear), GearBack: unit.Rounded(r.GearBack), Slipped: r.Slipped,
		Carry: unit.Rounded(f.Carry), Offline: unit.Rounded(f.Offline), Flags: f.Flags.Names(),
	}
}

// TellChange adds what changed since an earlier delivery with the same head.
func (a *Account) TellChange(was, is Delivery, head Head, c flight.Conditions) error {
	whole, parts, err := Attribute(Swing{Delivery: was, Head: head}, Swing{Delivery: is, Head: head}, c)
	if err != nil {
		return err
	}
	a.Change = &AccountChange{Whole: tellEffect("whole", whole)}
	for _, p := range parts {
		if p.Factor != "head" { // one head here
			a.Change.Parts = append(a.Change.Parts, tellEffect(p.Factor, p.Effect))
		}
	}
	return nil
}
