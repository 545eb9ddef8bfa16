package sim

import (
	"fmt"
	"math"
	"math/rand/v2"

	"fairlead/ingest/contract/event"
	"fairlead/processors/golf/impact"
)

// Player is somebody with a latent swing and own clubs. All directions of the
// swing are handed: a left-hander's are those of the mirror image.
type Player struct {
	ID    string
	Name  string
	Left  bool
	Skill float64 // 0 hardly plays … 1 plays for a living
	// DriverSpeed is the clubhead speed of a fresh, warm swing with the driver,
	// m/s. Men averaged about 93 mph and women 72 in reports of the rules bodies.
	DriverSpeed float64
	// Offsets of the mean delivery from the ordinary one of the category.
	Attack, Path, FaceToPath, DynamicLoft float64 // deg
	StrikeX, StrikeY                      float64 // m
	Scatter                               Scatter
	Rhythm                                Rhythm
	Response                              Response
	Putting                               Putting
	gamers                                map[string]*Club
	own                                   map[string][]TrueOutcome // true outcomes of the gamers
	seed                                  uint64
}

// Scatter is the spread of single swings about the player's mean: standard
// deviations, of clubhead speed as a share of it.
type Scatter struct {
	Speed      float64 `json:"speed_share"`
	Attack     float64 `json:"attack_deg"`
	Path       float64 `json:"path_deg"`
	FaceToPath float64 `json:"face_to_path_deg"`
	Loft       float64 `json:"dynamic_loft_deg"`
	StrikeX    float64 `json:"strike_x_m"`
	StrikeY    float64 `json:"strike_y_m"`
	// Correlation of path and face to path: hands make up for the path.
	PathFace float64 `json:"path_face_correlation"`
	// Correlation of attack and height of the strike.
	AttackStrike float64 `json:"attack_strike_correlation"`
	// Share of swings that are topped, fat or off the face.
	Mishit float64 `json:"mishit_share"`
	// Slow wander as a share of the scatter, and how much of it stays from
	// swing to swing.
	Drift       float64 `json:"drift_share"`
	DriftMemory float64 `json:"drift_memory"`
}

// Rhythm is how a swing changes through a session.
type Rhythm struct {
	// Share of speed that the first swing lacks (Fradkin 2004 found 12.8 %
	// without any warm-up), and swings until most of it is there.
	WarmUp     float64 `json:"warm_up_share"`
	WarmSwings float64 `json:"warm_up_swings"`
	Cold       float64 `json:"cold_scatter_share"` // extra scatter of the first swing
	// Swings after which the player tires, and the share of speed that each
	// one after that costs.
	TiresAfter float64 `json:"tires_after_swings"`
	Tiring     float64 `json:"tiring_share"`
	// Share of the difference between two clubs that is still in the first
	// swing after a swap, and the extra scatter of that swing.
	CarryOver float64 `json:"carry_over_share"`
	Settling  float64 `json:"settling_share"`
}

// Hand is the player's hand in the contract.
func (p *Player) Hand() event.Hand {
	if p.Left {
		return event.Hand_HAND_LEFT
	}
	return event.Hand_HAND_RIGHT
}

// NewPlayer draws a player from the seed and a number. One in nine is
// left-handed.
func NewPlayer(seed uint64, number int) *Player {
	r := source(seed, "player", fmt.Sprint(number))
	p := &Player{seed: seed, gamers: map[string]*Club{}}
	p.ID = fmt.Sprintf("p-%04x%04x", uint16(seed*0x9e37), number&0xffff)
	p.Name = pick(r, firstNames) + " " + pick(r, lastNames)
	p.Left = chance(r, 0.11)
	p.Skill = math.Sqrt(r.Float64()) * 0.95
	woman := chance(r, 0.25)
	base := 41.6
	if woman {
		base = 32.2
	}
	p.DriverSpeed = within(r, base+6*(p.Skill-0.6), 3, 26, 56)
	clumsy := 1 - p.Skill
	p.Attack = normal(r, 0, 0.8+clumsy)
	p.Path = normal(r, -2.2*clumsy, 1.2+2*clumsy)
	p.FaceToPath = normal(r, 1.2*clumsy-0.4*p.Path*clumsy, 0.7+clumsy)
	p.DynamicLoft = normal(r, 1.5*clumsy, 1)
	p.StrikeX = normal(r, -0.002*clumsy, 0.002+0.003*clumsy)
	p.StrikeY = normal(r, -0.001*clumsy, 0.001+0.002*clumsy)
	spread := func(best, worst float64) float64 {
		return (best + (worst-best)*clumsy) * math.Exp(0.12*r.NormFloat64())
	}
	p.Scatter = Scatter{
		Speed: spread(0.007, 0.024), Attack: spread(0.6, 1.7), Path: spread(0.9, 2.6), FaceToPath: spread(0.9, 2.6), Loft: spread(0.8, 1.9),
		StrikeX: spread(0.0045, 0.0105), StrikeY: spread(0.003, 0.007),
		PathFace: within(r, -0.35, 0.15, -0.7, 0.1), AttackStrike: within(r, -0.4, 0.15, -0.8, 0),
		Mishit: spread(0.003, 0.05), Drift: within(r, drift, 0.12, 0, 0.7), DriftMemory: driftMemory,
	}
	p.Rhythm = Rhythm{
		WarmUp: within(r, 0.035, 0.02, 0, 0.12), WarmSwings: within(r, 6, 2, 2, 15), Cold: within(r, 0.3, 0.15, 0, 1),
		TiresAfter: within(r, 55, 15, 20, 120), Tiring: within(r, 0.0005, 0.0003, 0, 0.002),
		CarryOver: within(r, 0.35, 0.15, 0, 0.8), Settling: within(r, 0.15, 0.1, 0, 0.5),
	}
	p.Response = newResponse(r)
	p.Putting = newPutting(r, clumsy)
	return p
}

// Gamer is the player's own club of a category, always the same one.
func (p *Player) Gamer(category string) *Club {
	if c := p.gamers[category]; c != nil {
		return c
	}
	c := newGamer(source(p.seed, "gamer", p.ID, category), p, category)
	p.gamers[category] = c
	return c
}

// Fitter is a good player who shows a shot now and then, hand and all.
func newFitter(seed uint64, number int) *Player {
	p := NewPlayer(seed, 0xf000+number)
	r := source(seed, "fitter", fmt.Sprint(number))
	p.ID = fmt.Sprintf("f-%d", number)
	p.Skill, p.DriverSpeed = 0.9, within(r, 47, 2, 42, 52)
	p.Path, p.FaceToPath, p.Attack = normal(r, 0, 1), normal(r, 0, 0.5), normal(r, 0, 1)
	p.Scatter.Mishit, p.Scatter.FaceToPath, p.Scatter.Path = 0.002, 1, 1
	return p
}

// ordinary is the ordinary delivery of a category, from impact's bag.
func ordinary(category string) impact.Club {
	for _, c := range impact.Bag() {
		if c.Name == standard[category].bag {
			if category == "driver" {
				c.DynamicLoft += 1.5 // most players lean the shaft less than the sound one of the bag
			}
			return c
		}
	}
	return impact.Club{}
}

// Response is how a player's delivery answers to a club: change for one step
// of each attribute from the player's own club. Group means are small and the
// differences between players large, as MacKenzie and Boucher (2016) found for
// shaft stiffness and MacKenzie (2015) for head mass.
type Response struct {
	Speed      Attributes // share of clubhead speed a step
	Attack     Attributes // deg
	Path       Attributes // deg
	FaceToPath Attributes // deg
	Loft       Attributes // deg of dynamic loft
	StrikeX    Attributes // m
	StrikeY    Attributes // m
	Spread     Attributes // logarithm of the scatter
	Curve      Attributes // logarithm of the scatter a step squared, about Best
	Best       Attributes // steps from the player's own club where the scatter is least
}

func newResponse(r *rand.Rand) (out Response) {
	fill := func(to *Attributes, mean, sd Attributes) {
		for i := range to {
			to[i] = normal(r, mean[i], sd[i])
		}
	}
	//                         length  loft  lie   shaft   flex   torque  head   swing weight
	// Longer driver 1.168 to 1.270 m: +1.8 m/s of ball (Kenny 2008), 0.3 % a step.
	fill(&out.Speed, Attributes{0.0032, 0, 0, -0.0025, 0, 0, -0.002, -0.0004},
		Attributes{0.002, 0, 0.0003, 0.003, 0.004, 0.001, 0.002, 0.0005})
	fill(&out.Attack, Attributes{0.03, 0, 0, -0.05, 0, 0, -0.05, 0}, Attributes{0.1, 0.05, 0.05, 0.15, 0.15, 0.05, 0.1, 0.03})
	fill(&out.Path, Attributes{-0.1, 0, 0.05, 0.1, 0, 0, 0, 0}, Attributes{0.2, 0.05, 0.1, 0.25, 0.25, 0.1, 0.2, 0.05})
	fill(&out.FaceToPath, Attributes{0.12, 0, 0, 0.1, 0.25, -0.12, 0.2, 0.02}, Attributes{0.25, 0.1, 0.15, 0.3, 0.4, 0.2, 0.3, 0.05})
	fill(&out.Loft, Attributes{0, 0.8, 0, -0.1, -0.3, 0.1, 0.05, 0}, Attributes{0.1, 0.08, 0.05, 0.2, 0.35, 0.1, 0.1, 0.02})
	fill(&out.StrikeX, Attributes{-0.0008, 0, 0.0003, 0, 0, 0, 0, 0},
		Attributes{0.0008, 0.0001, 0.0005, 0.0005, 0.0005, 0.0002, 0.0004, 0.0001})
	fill(&out.StrikeY, Attributes{0.0002, 0.0002, 0, 0, 0, 0, 0, 0},
		Attributes{0.0005, 0.0002, 0.0003, 0.0004, 0.0004, 0.0002, 0.0003, 0.0001})
	fill(&out.Spread, Attributes{0.02, 0, 0, -0.015, -0.005, 0.012, -0.008, -0.002},
		Attributes{0.02, 0.01, 0.01, 0.045, 0.04, 0.015, 0.03, 0.01})
	fill(&out.Best, Attributes{0, 0, 0, 0, 0, 0, 0, 0}, Attributes{1.5, 1.5, 2, 0, 0, 0, 0, 0})
	out.Curve = Attributes{0.008, 0.004, 0.006, 0, 0, 0, 0, 0}
	return out
}

// Effect is what a club does to a player's delivery, against the own club.
type Effect struct {
	Speed                          float64 // share
	Attack, Path, FaceToPath, Loft float64 // deg
	FaceByLie                      float64 // deg the face points elsewhere because of the lie (Δlie·tan loft); part of no scatter
	StrikeX, StrikeY               float64 // m
	Spread                         float64 // logarithm of the scatter
}

// Effect computes it for a club of the player.
func (p *Player) Effect(c *Club) (e Effect) {
	x := c.True.steps(p.Gamer(c.Category).True)
	q := &p.Response
	for i := range x {
		e.Speed += q.Speed[i] * x[i]
		e.Attack += q.Attack[i] * x[i]
		e.Path += q.Path[i] * x[i]
		e.FaceToPath += q.FaceToPath[i] * x[i]
		e.Loft += q.Loft[i] * x[i]
		e.StrikeX += q.StrikeX[i] * x[i]
		e.StrikeY += q.StrikeY[i] * x[i]
		off := x[i] - q.Best[i]
		e.Spread += q.Spread[i]*x[i] + q.Curve[i]*(off*off-q.Best[i]*q.Best[i])
	}
	e.FaceByLie = -x[Lie] * math.Tan(c.True[Loft]*math.Pi/180)
	return e
}

func (e Effect) toward(o Effect, share float64) Effect {
	mix := func(a, b float64) float64 { return a + share*(b-a) }
	return Effect{mix(e.Speed, o.Speed), mix(e.Attack, o.Attack), mix(e.Path, o.Path), mix(e.FaceToPath, o.FaceToPath), mix(e.Loft, o.Loft),
		e.FaceByLie, mix(e.StrikeX, o.StrikeX), mix(e.StrikeY, o.StrikeY), mix(e.Spread, o.Spread)}
}
