package flight

import (
	"fmt"

	"fairlead/ingest/contract/unit"
)

// Account is one flight as it is told: as JSON, whose keys say their unit, and as
// text. Offline is positive right of the target.
type Account struct {
	Line         int            `json:"line,omitempty"` // of stdin
	ID           string         `json:"id,omitempty"`
	BallSpeed    float64        `json:"ball_speed_mps"`
	Launch       float64        `json:"launch_deg"`
	Direction    float64        `json:"direction_deg"`
	Spin         float64        `json:"spin_rpm"`
	Axis         float64        `json:"axis_deg"`
	Carry        float64        `json:"carry_m"`
	Offline      float64        `json:"offline_m"`
	Straight     float64        `json:"carry_straight_m"`
	Curve        float64        `json:"curve_m"`
	Apex         float64        `json:"apex_m"`
	Hang         float64        `json:"hang_s"`
	Landing      float64        `json:"landing_deg"`
	LandingSpeed float64        `json:"landing_speed_mps"`
	LandingSpin  float64        `json:"landing_spin_rpm"`
	Total        float64        `json:"total_m"`
	TotalOffline float64        `json:"total_offline_m"`
	Confidence   string         `json:"total_confidence"`
	Model        string         `json:"model"`
	Density      float64        `json:"air_density_kgm3"`
	Measured     *float64       `json:"measured_carry_m,omitempty"`
	Standard     *float64       `json:"standard_carry_m,omitempty"`
	Applied      *bool          `json:"standard_applied,omitempty"`
	Band         accountBand    `json:"within"` // two standard deviations
	Flags        []string       `json:"flags"`
	Path         []accountPoint `json:"path,omitempty"`
}

type accountBand struct {
	Carry   float64 `json:"carry_m"`
	Apex    float64 `json:"apex_m"`
	Landing float64 `json:"landing_deg"`
	Total   float64 `json:"total_m"`
}

type accountPoint struct {
	T float64 `json:"t_s"`
	X float64 `json:"x_m"`
	Y float64 `json:"y_m"`
	Z float64 `json:"z_m"`
}

// Failure stands for a shot that could not be computed.
type Failure struct {
	Line  int    `json:"line"`
	ID    string `json:"id,omitempty"`
	Error string `json:"error"`
}

// Asking is what an account of a flight shall hold beside its figures.
type Asking struct {
	Adjusted bool // the device has already brought its carry to standard air
	Points   int  // of the path, 0 for none
}

// Tell computes one shot and tells of it.
func Tell(s *Shot, c Conditions, ask Asking) (*Account, error) {
	if s.Err != nil {
		return nil, s.Err
	}
	r, err := Simulate(s.Launch, c)
	if err != nil {
		return nil, err
	}
	l := s.Launch
	b, err := BandOf(l, c, r)
	if err != nil {
		return nil, err
	}
	out := &Account{
		Band: accountBand{unit.Rounded(2 * b.Carry), unit.Rounded(2 * b.Apex), unit.Rounded(2 * b.Landing), unit.Rounded(2 * b.Total)},
		Line: s.Line, ID: s.ID,
		BallSpeed: unit.Rounded(l.BallSpeed), Launch: unit.Rounded(l.Angle), Direction: unit.Rounded(l.Direction), Spin: unit.Rounded(l.SpinRate),
		Axis:  unit.Rounded(l.SpinAxis),
		Carry: unit.Rounded(r.Carry), Offline: unit.Rounded(r.Offline), Straight: unit.Rounded(r.Distance()), Curve: unit.Rounded(r.Curve),
		Apex: unit.Rounded(r.Apex), Hang: unit.Rounded(r.HangTime), Landing: unit.Rounded(r.LandingAngle),
		LandingSpeed: unit.Rounded(r.LandingSpeed),
		LandingSpin:  unit.Rounded(r.LandingSpin), Total: unit.Rounded(r.Total), TotalOffline: unit.Rounded(r.TotalOffline), Confidence: "low",
		Model: c.Model.Name, Density: unit.Rounded(c.Air.Density), Flags: r.Flags.Names(),
	}
	if s.Measured != nil {
		adjusted, err := StandardAirCarry(*s.Measured, l, c, ask.Adjusted)
		if err != nil {
			return nil, err
		}
		measured, standard := unit.Rounded(*s.Measured), unit.Rounded(adjusted.Carry)
		out.Measured, out.Standard, out.Applied = &measured, &standard, &adjusted.Applied
	}
	if ask.Points > 0 {
		points, err := Path(l, c, ask.Points)
		if err != nil {
			return nil, err
		}
		for _, p := range points {
			out.Path = append(out.Path, accountPoint{unit.Rounded(p.T), unit.Rounded(p.X), unit.Rounded(p.Y), unit.Rounded(p.Z)})
		}
	}
	return out, nil
}

// Name labels the shot in a picture.
func (r *Account) Name() string {
	if r.ID != "" {
		return r.ID
	}
	return fmt.Sprintf("%.1f m/s, %.1f°, %.0f rpm", r.BallSpeed, r.Launch, r.Spin)
}
