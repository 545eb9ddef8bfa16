package window

import "fairlead/ingest/contract/unit"

// accountPoint is a launch with its outcome.
type accountPoint struct {
	Launch      float64  `json:"launch_deg"`
	Spin        float64  `json:"spin_rpm"`
	DynamicLoft *float64 `json:"dynamic_loft_deg,omitempty"`
	Loft        *float64 `json:"loft_change_deg,omitempty"`
	BallSpeed   *float64 `json:"ball_speed_mps,omitempty"`
	Carry       float64  `json:"carry_m"`
	Landing     float64  `json:"landing_deg"`
	Stop        float64  `json:"run_m"`
	Loss        float64  `json:"loss_m"`
	Gain        *float64 `json:"gain_m,omitempty"`
	SpinShare   float64  `json:"spin_over_centred"`
	In          bool     `json:"in_window"`
}

// Account is a window as it is told in JSON, whose keys say their unit.
type Account struct {
	Goal        string         `json:"goal"`
	Category    string         `json:"category"`
	BallSpeed   float64        `json:"ball_speed_mps"`
	Attack      float64        `json:"attack_deg"`
	Wanted      *float64       `json:"wanted_carry_m,omitempty"`
	Within      float64        `json:"window_loss_m"`
	Best        accountPoint   `json:"best"`
	Ceiling     accountPoint   `json:"ceiling"`
	Range       accountRange   `json:"line_in_window"`
	Present     *accountPoint  `json:"present,omitempty"`
	SpinCost    *float64       `json:"spin_cost_m,omitempty"`
	Sensitivity *accountLoft   `json:"loft_sensitivity,omitempty"`
	Line        []accountPoint `json:"line"`
	Surface     []accountPoint `json:"surface,omitempty"`
	Confidence  string         `json:"run_confidence"`
	Note        string         `json:"note"`
}

// accountRange is the part of the line of centred strikes in the
type accountRange struct {
	LaunchLow  float64 `json:"launch_low_deg"`
	LaunchHigh float64 `json:"launch_high_deg"`
	SpinLow    float64 `json:"spin_low_rpm"`
	SpinHigh   float64 `json:"spin_high_rpm"`
}

// accountLoft is what a change of loft does.
type accountLoft struct {
	DynamicLoft    float64        `json:"dynamic_loft_deg"`
	Launch         float64        `json:"launch_deg_per_deg"`
	Spin           float64        `json:"spin_rpm_per_deg"`
	BallSpeed      float64        `json:"ball_speed_mps_per_deg"`
	Carry          float64        `json:"carry_m_per_deg"`
	Loss           float64        `json:"loss_m_per_deg"`
	CarryPerAttack float64        `json:"carry_m_per_attack_deg"`
	Advice         accountPoint   `json:"advice"`
	Changes        []accountPoint `json:"changes"`
}

// Account tells of a window, with the whole surface when that is wanted.
func (w *Window) Account(surface bool) Account {
	point := func(p Point) accountPoint {
		return accountPoint{
			Launch: unit.Rounded(p.Launch), Spin: unit.Rounded(p.Spin), Carry: unit.Rounded(p.Carry), Landing: unit.Rounded(p.Landing),
			Stop: unit.Rounded(p.Stop), Loss: unit.Rounded(p.Loss), SpinShare: unit.Rounded(p.SpinShare), In: w.In(p),
		}
	}
	pointer := func(v float64) *float64 { v = unit.Rounded(v); return &v }
	reach := func(r Reachable) accountPoint {
		p := point(r.Point)
		p.DynamicLoft = pointer(r.DynamicLoft)
		return p
	}
	low, high := w.LineRange()
	out := Account{
		Goal: string(w.Goal), Category: w.Player.Category, BallSpeed: unit.Rounded(w.Player.BallSpeed), Attack: unit.Rounded(w.Player.Attack),
		Within: unit.Rounded(w.Within), Best: reach(w.Best), Ceiling: point(w.Surface.Ceiling),
		Range:      accountRange{unit.Rounded(low.Launch), unit.Rounded(high.Launch), unit.Rounded(low.Spin), unit.Rounded(high.Spin)},
		Confidence: "low", Note: "computed from flight and impact models, not measured",
	}
	if w.Goal == Green {
		out.Wanted = pointer(w.WantedCarry)
	}
	for _, r := range w.Line {
		out.Line = append(out.Line, reach(r))
	}
	if surface {
		for _, p := range w.Surface.Points {
			out.Surface = append(out.Surface, point(p))
		}
	}
	if w.Present != nil {
		p := point(*w.Present)
		out.Present, out.SpinCost = &p, pointer(w.SpinCost)
	}
	if s := w.Sensitivity; s != nil {
		change := func(c Change) accountPoint {
			p := point(c.Point)
			p.Loft, p.BallSpeed, p.Gain = pointer(c.Loft), pointer(c.BallSpeed), pointer(c.Gain)
			return p
		}
		out.Sensitivity = &accountLoft{
			DynamicLoft: unit.Rounded(s.DynamicLoft), Launch: unit.Rounded(s.LaunchPerDeg), Spin: unit.Rounded(s.SpinPerDeg),
			BallSpeed: unit.Rounded(s.BallSpeedPerDeg), Carry: unit.Rounded(s.CarryPerDeg), Loss: unit.Rounded(s.LossPerDeg),
			CarryPerAttack: unit.Rounded(s.CarryPerAttack), Advice: change(s.Advice),
		}
		for _, c := range s.Changes {
			out.Sensitivity.Changes = append(out.Sensitivity.Changes, change(c))
		}
	}
	return out
}
