package sim

import (
	"math"
	"math/rand/v2"

	"fairlead/ingest/contract/event"
)

// Putting is a player's stroke: spread of the start line in deg, of the ball's
// speed as a share, and the mean start line.
type Putting struct {
	Line, LineSpread float64 // deg, handed
	SpeedSpread      float64 // share
	Launch           float64 // deg
	Rotation         float64 // deg the face turns through the stroke
}

func newPutting(r *rand.Rand, clumsy float64) Putting {
	return Putting{
		Line: normal(r, 0, 0.3+0.4*clumsy), LineSpread: 0.6 + 1.1*clumsy, SpeedSpread: 0.035 + 0.05*clumsy,
		Launch: within(r, 2, 0.7, 0.3, 4.5), Rotation: within(r, 6, 2, 0, 14),
	}
}

// Putt is a putt as it rolled: the ball skids, then rolls. Skid ends at 5/7 of
// the speed after 12v²/(49μg); the rest slows by 1.83²/(2D) with the green
// speed D in m (the run of a ball released at 1.83 m/s).
type Putt struct {
	Speed, Line, Launch  float64 // m/s, deg positive right, deg
	Skid, Roll, Distance float64 // m, m/s where pure roll begins, m
	Forward, Rotation    float64 // rpm just after impact, deg
}

const (
	greenFriction = 0.4
	gravity       = 9.80665
	greenSpeed    = 3.0 // m, an ordinary green
	puttTarget    = 4.5 // m to the hole
	puttPast      = 0.3 // m that a good putt would run past
)

// paceFor is the ball speed in m/s that rolls a distance in m.
func paceFor(distance float64) float64 {
	// distance = k·v² with k the skid and the roll behind it.
	k := 12/(49*greenFriction*gravity) + (25.0/49)*greenSpeed/(1.83*1.83)
	return math.Sqrt(distance / k)
}

func (s *Swinger) putt(c *Club) Hit {
	e, cold, _ := s.state()
	q := s.p.Putting
	spread := math.Exp(e.Spread) * cold
	line := q.Line + 0.3*e.FaceToPath + q.LineSpread*spread*s.r.NormFloat64()
	if s.p.Left {
		line = -line
	}
	v := paceFor(puttTarget+puttPast) * (1 + q.SpeedSpread*spread*s.r.NormFloat64()) * (1 + 0.5*e.Speed)
	v = max(0.4, v)
	p := Putt{Speed: v, Line: line, Launch: q.Launch + 0.3*e.Loft + 0.4*s.r.NormFloat64(), Rotation: q.Rotation + 0.8*s.r.NormFloat64()}
	p.Skid = 12 * v * v / (49 * greenFriction * gravity)
	p.Roll = 5 * v / 7
	p.Distance = p.Skid + p.Roll*p.Roll*greenSpeed/(1.83*1.83)
	p.Forward = 15 * v * s.r.NormFloat64()
	return Hit{Category: c.Category, Left: s.p.Left, Putt: &p}
}

func (p *Putt) values() map[event.Field]float64 {
	return map[event.Field]float64{
		event.Field_FIELD_BALL_SPEED: p.Speed, event.Field_FIELD_LAUNCH_DIRECTION: p.Line, event.Field_FIELD_LAUNCH_ANGLE: p.Launch,
		event.Field_FIELD_SKID_DISTANCE: p.Skid, event.Field_FIELD_FORWARD_ROLL: p.Forward, event.Field_FIELD_ROLL_SPEED: p.Roll,
		event.Field_FIELD_PUTT_DISTANCE: p.Distance, event.Field_FIELD_STROKE_ROTATION: p.Rotation,
	}
}
