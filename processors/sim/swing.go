package sim

import (
	"math"
	"math/rand/v2"

	"fairlead/ingest/contract/event"
	"fairlead/processors/golf/flight"
	"fairlead/processors/golf/impact"
)

// Hit is one swing and what came of it, without any device: the truth.
type Hit struct {
	Category string
	Left     bool
	Mishit   string // topped, fat, toe; empty for an ordinary swing
	Delivery impact.Delivery
	Launch   flight.Launch
	Flight   flight.Result
	Smash    float64
	Putt     *Putt
}

// Swinger is a player through one session: warm-up, fatigue, drift and the
// club before. It serves one goroutine.
type Swinger struct {
	p         *Player
	r         *rand.Rand
	air       flight.Conditions
	swings    int
	club      *Club
	since     int    // swings with club
	before    Effect // of the club before
	now       Effect
	wander    [4]float64 // drift of speed, path, face, loft in units of their scatter
	told      Effect     // what an instruction changed
	noiseless bool       // no warm-up, fatigue, drift, carry-over or mishits
}

// NewSwinger begins a session of a player in some air.
func NewSwinger(p *Player, r *rand.Rand, c flight.Conditions) *Swinger {
	return &Swinger{p: p, r: r, air: c}
}

// Instruct changes the swing for the rest of the session.
func (s *Swinger) Instruct(change Effect) { s.told = change }

// Warm takes swings that no device sees.
func (s *Swinger) Warm(n int) { s.swings += n }

// Swing hits one ball.
func (s *Swinger) Swing(c *Club) Hit {
	if c != s.club {
		s.before = s.now
		s.now = s.p.Effect(c)
		if s.club == nil {
			s.before = s.now
		}
		s.club, s.since = c, 0
	}
	s.swings++
	s.since++
	if c.Category == "putter" {
		return s.putt(c)
	}
	e, cold, speed := s.state()
	z := s.p.Scatter
	spread := math.Exp(e.Spread) * cold
	n := func() float64 { return s.r.NormFloat64() }
	attack, path := n(), n()
	face := z.PathFace*path + math.Sqrt(1-z.PathFace*z.PathFace)*n()
	high := z.AttackStrike*attack + math.Sqrt(1-z.AttackStrike*z.AttackStrike)*n()
	o := ordinary(c.Category)
	ref := standard[c.Category]
	gamer := s.p.Gamer(c.Category)
	own := gamer.True
	d := impact.Delivery{
		HeadSpeed:   s.p.DriverSpeed * o.SpeedShare * speed * (1 + e.Speed) * (1 + z.Speed*cold*(n()+s.wander[0])),
		Attack:      o.Attack + s.p.Attack + e.Attack + z.Attack*spread*attack,
		Path:        s.p.Path + e.Path + z.Path*spread*(path+s.wander[1]),
		DynamicLoft: o.DynamicLoft + 0.8*(own[Loft]-ref.loft) + s.p.DynamicLoft + e.Loft + z.Loft*spread*(n()+s.wander[3]),
		StrikeX:     s.p.StrikeX + e.StrikeX + z.StrikeX*spread*n(),
		StrikeY:     s.p.StrikeY + e.StrikeY + z.StrikeY*spread*high,
	}
	d.Face = d.Path + s.p.FaceToPath + e.FaceToPath + e.FaceByLie + z.FaceToPath*spread*(face+s.wander[2])
	h := Hit{Category: c.Category, Left: s.p.Left}
	if !s.noiseless && chance(s.r, z.Mishit) {
		h.Mishit = mishit(s.r, &d)
	}
	d.HeadSpeed = min(70, max(5, d.HeadSpeed))
	d.StrikeX, d.StrikeY = min(0.055, max(-0.055, d.StrikeX)), min(0.035, max(-0.035, d.StrikeY))
	d.Attack, d.Path, d.Face = min(15, max(-15, d.Attack)), min(25, max(-25, d.Path)), min(30, max(-30, d.Face))
	d.DynamicLoft = min(75, max(0, d.DynamicLoft))
	if s.p.Left {
		d = d.Mirrored()
	}
	h.Delivery = d
	h.fly(c, s.air)
	return h
}

// state returns what the club does now, how much wider than usual the swing
// scatters, and how fast it is against fresh and warm.
func (s *Swinger) state() (e Effect, cold, speed float64) {
	e, cold, speed = s.now, 1, 1
	if s.noiseless {
		return e, cold, speed
	}
	y := s.p.Rhythm
	k := float64(s.swings - 1)
	chill := math.Exp(-k / y.WarmSwings)
	speed = (1 - y.WarmUp*chill) * (1 - y.Tiring*max(0, k-y.TiresAfter))
	left := math.Exp(-float64(s.since-1) / 1.5)
	cold = (1 + y.Cold*chill) * (1 + y.Settling*left) * (1 + 2*y.Tiring*max(0, k-y.TiresAfter))
	e = e.toward(s.before, y.CarryOver*left)
	e.Path += s.told.Path
	e.FaceToPath += s.told.FaceToPath
	e.Attack += s.told.Attack
	e.Spread += s.told.Spread
	m := s.p.Scatter.DriftMemory
	for i := range s.wander {
		s.wander[i] = m*s.wander[i] + math.Sqrt(1-m*m)*s.p.Scatter.Drift*s.r.NormFloat64()
	}
	return e, cold, speed
}

// mishit spoils a delivery.
func mishit(r *rand.Rand, d *impact.Delivery) string {
	switch r.IntN(3) {
	case 0:
		d.StrikeY, d.DynamicLoft, d.Attack = -0.03, max(0, d.DynamicLoft-18), d.Attack+3
		d.HeadSpeed *= 0.95
		return "topped"
	case 1:
		d.HeadSpeed *= within(r, 0.78, 0.05, 0.6, 0.9)
		d.DynamicLoft += 2
		return "fat"
	default:
		d.StrikeX = within(r, 0.038, 0.005, 0.028, 0.052)
		return "toe"
	}
}

// fly strikes and flies the ball. A strike that the models refuse (an extreme
// one) dribbles.
func (h *Hit) fly(c *Club, air flight.Conditions) {
	res, err := impact.Strike(h.Delivery, c.Head)
	h.Launch, h.Smash = res.Launch, res.Smash
	if err == nil {
		h.Flight, err = flight.Simulate(h.Launch, air)
	}
	if err == nil && h.Launch.Angle > -15 {
		return
	}
	h.Launch = flight.Launch{BallSpeed: 0.55 * h.Delivery.HeadSpeed, Angle: 2, Direction: h.Delivery.Face, SpinRate: 800}
	h.Smash = 0.55
	h.Flight, _ = flight.Simulate(h.Launch, air)
}

// Values are the fields that could be measured of the hit: positive right of
// target, stored units.
func (h *Hit) Values() map[event.Field]float64 {
	if h.Putt != nil {
		return h.Putt.values()
	}
	d, l, f := &h.Delivery, &h.Launch, &h.Flight
	sin, cos := math.Sincos(l.SpinAxis * math.Pi / 180)
	return map[event.Field]float64{
		event.Field_FIELD_CLUBHEAD_SPEED: d.HeadSpeed, event.Field_FIELD_BALL_SPEED: l.BallSpeed, event.Field_FIELD_SMASH_FACTOR: h.Smash,
		event.Field_FIELD_ATTACK_ANGLE: d.Attack, event.Field_FIELD_CLUB_PATH: d.Path, event.Field_FIELD_FACE_ANGLE: d.Face,
		event.Field_FIELD_FACE_TO_PATH: d.Face - d.Path, event.Field_FIELD_DYNAMIC_LOFT: d.DynamicLoft,
		event.Field_FIELD_LAUNCH_ANGLE: l.Angle, event.Field_FIELD_LAUNCH_DIRECTION: l.Direction,
		event.Field_FIELD_SPIN_RATE: l.SpinRate, event.Field_FIELD_SPIN_AXIS: l.SpinAxis,
		event.Field_FIELD_BACK_SPIN: l.SpinRate * cos, event.Field_FIELD_SIDE_SPIN: l.SpinRate * sin,
		event.Field_FIELD_CARRY: f.Carry, event.Field_FIELD_OFFLINE: f.Offline, event.Field_FIELD_TOTAL: f.Total,
		event.Field_FIELD_TOTAL_OFFLINE: f.TotalOffline,
		event.Field_FIELD_APEX:          f.Apex, event.Field_FIELD_LANDING_ANGLE: f.LandingAngle, event.Field_FIELD_LANDING_SPEED: f.LandingSpeed,
		event.Field_FIELD_HANG_TIME: f.HangTime, event.Field_FIELD_STRIKE_X: d.StrikeX, event.Field_FIELD_STRIKE_Y: d.StrikeY,
	}
}
