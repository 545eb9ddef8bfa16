package sim

import (
	"math"
	"slices"

	"fairlead/processors/golf/flight"
)

// TrueOutcome is the true mean and spread of one primary outcome of a club in a
// player's hands: warm, fresh, without mishits, drift or device.
type TrueOutcome struct {
	Name string  `json:"name"`
	Unit string  `json:"unit"`
	Mean float64 `json:"mean"`
	SD   float64 `json:"sd"`
	// Change of the mean, and of the spread as a logarithm, against the
	// player's own club; 0 for that itself.
	MeanChange float64 `json:"mean_change"`
	LnSDChange float64 `json:"ln_sd_change"`
}

// effectSwings is how many swings a true effect is computed from. Both clubs
// get the same random numbers, so their difference is far surer than either.
const effectSwings = 300

// TrueEffects computes what a club does for a player under some air, from many
// simulated swings, in a fixed order of outcomes. It serves one goroutine a
// player, and one air.
func TrueEffects(p *Player, c *Club, air flight.Conditions) []TrueOutcome {
	gamer := p.Gamer(c.Category)
	if p.own == nil {
		p.own = map[string][]TrueOutcome{}
	}
	own := p.own[c.Category]
	if own == nil {
		own = p.outcomes(gamer, air)
		p.own[c.Category] = own
	}
	with := slices.Clone(own)
	if c != gamer {
		with = p.outcomes(c, air)
	}
	for i := range with {
		with[i].MeanChange = with[i].Mean - own[i].Mean
		with[i].LnSDChange = math.Log(with[i].SD / own[i].SD)
	}
	return with
}

func (p *Player) outcomes(c *Club, air flight.Conditions) []TrueOutcome {
	s := NewSwinger(p, source(p.seed, "effects", p.ID, c.Category), air)
	s.noiseless = true
	names := []TrueOutcome{{Name: "ball_speed", Unit: "m/s"}, {Name: "launch_angle", Unit: "deg"}, {Name: "spin_rate", Unit: "rpm"},
		{Name: "carry", Unit: "m"}, {Name: "carry_pct", Unit: "%"}, {Name: "landing_angle", Unit: "deg"}, {Name: "direction", Unit: "deg"},
		{Name: "strike_x", Unit: "m"}, {Name: "strike_y", Unit: "m"}}
	if c.Category == "putter" {
		names = []TrueOutcome{{Name: "start_line", Unit: "deg"}, {Name: "ball_speed", Unit: "m/s"}, {Name: "launch_angle", Unit: "deg"},
			{Name: "skid", Unit: "m"}}
	}
	sums := make([][2]float64, len(names))
	n := 0
	for range effectSwings {
		h := s.Swing(c)
		var v []float64
		if q := h.Putt; q != nil {
			v = []float64{q.Line, q.Speed, q.Launch, q.Skid}
		} else if h.Flight.Carry > 1 {
			v = []float64{h.Launch.BallSpeed, h.Launch.Angle, h.Launch.SpinRate, h.Flight.Carry, h.Flight.Carry, h.Flight.LandingAngle,
				math.Atan2(h.Flight.Offline, h.Flight.Carry) * 180 / math.Pi, h.Delivery.StrikeX, h.Delivery.StrikeY}
		} else {
			continue
		}
		n++
		for i, x := range v {
			// About the first value, so that no digits are lost.
			if n == 1 {
				names[i].Mean = x
			}
			d := x - names[i].Mean
			sums[i][0] += d
			sums[i][1] += d * d
		}
	}
	if n < 2 {
		return names
	}
	for i := range names {
		shift := sums[i][0] / float64(n)
		names[i].Mean += shift
		names[i].SD = math.Sqrt(max(1e-18, (sums[i][1]-float64(n)*shift*shift)/float64(n-1)))
		if names[i].Name == "carry_pct" {
			names[i].SD *= 100 / names[i].Mean
			names[i].Mean = 100
		}
	}
	return names
}
