package sim

import (
	"math"
	"math/rand/v2"

	"fairlead/ingest/contract/event"
)

// The fields that a fleet's shots have, in the order of the contract.
var fleetFields = [...]event.Field{
	event.Field_FIELD_CLUBHEAD_SPEED, event.Field_FIELD_BALL_SPEED, event.Field_FIELD_ATTACK_ANGLE, event.Field_FIELD_CLUB_PATH,
	event.Field_FIELD_FACE_ANGLE, event.Field_FIELD_FACE_TO_PATH, event.Field_FIELD_DYNAMIC_LOFT, event.Field_FIELD_LAUNCH_ANGLE,
	event.Field_FIELD_SPIN_RATE, event.Field_FIELD_CARRY, event.Field_FIELD_OFFLINE, event.Field_FIELD_LANDING_ANGLE,
	event.Field_FIELD_STRIKE_X, event.Field_FIELD_STRIKE_Y,
}

// Places of the fields in fleetShot.
const (
	atSpeed = iota
	atBall
	atAttack
	atPath
	atFace
	atFaceToPath
	atLoft
	atLaunch
	atSpin
	atCarry
	atOffline
	atLanding
	atStrikeX
	atStrikeY
)

// fleetShot is one shot's values, positive right of target, and its direction.
type fleetShot struct {
	v         [len(fleetFields)]float64
	direction float64
	excluded  bool
}

// swingOf is what all shots of one trial part have in common.
type swingOf struct {
	category          int
	traits            TraitValues
	strike            float64 // m, scatter on the face
	loftChange        float64 // deg of dynamic loft by the club
	carry             float64 // m, mean
	direction         float64 // deg, mean, handed
	lnDirection, lnCC float64 // ln of the sd: deg, percent of carry
	settling          [2]float64
	side              float64 // 1, or -1 for a left-hander
	bias              *bayBias
	biasSide          float64
	tails             int
	mishits, excluded float64
	centre            [2]float64 // m, where on the face beside the usual place
}

// draw makes the k-th shot (from 0) after a swap in closed form.
func (s *swingOf) draw(r *rand.Rand, k int) (out fleetShot) {
	n := r.NormFloat64
	v := &out.v
	left := math.Pow(0.5, float64(k))
	sdDirection := math.Exp(s.lnDirection + s.settling[0]*left)
	sdCarry := math.Exp(s.lnCC+s.settling[1]*left) / 100 * s.carry
	e1, e2 := n(), n()
	if s.tails > 0 {
		chi := 0.0
		for range s.tails {
			x := n()
			chi += x * x
		}
		scale := math.Sqrt(float64(s.tails-2) / chi)
		e1, e2 = e1*scale, e2*scale
	}
	direction, carry := s.direction+sdDirection*e1, s.carry+sdCarry*e2
	if s.mishits > 0 && r.Float64() < s.mishits {
		direction, carry = s.direction+3*(direction-s.direction), 0.72*carry
		out.excluded = r.Float64() < s.excluded
	}
	direction = s.side*direction + s.biasSide*s.bias.Direction
	direction = min(60, max(-60, direction))
	carry = max(1, carry*(1+s.bias.Carry))
	v[atCarry] = cent(carry)
	v[atOffline] = cent(carry * math.Tan(direction*math.Pi/180))
	out.direction = math.Atan2(v[atOffline], v[atCarry]) * 180 / math.Pi

	v[atSpeed] = tenth(s.traits[0] * (1 + 0.012*n()))
	v[atAttack] = tenth(s.traits[1] + 1.1*n())
	path, face := tenth(s.traits[2]+1.6*n()), tenth(s.traits[3]+1.5*n())
	v[atPath], v[atFaceToPath], v[atFace] = s.side*path, s.side*face, s.side*tenth(path+face)
	v[atLoft] = tenth(s.traits[4] + s.loftChange + 1.1*n())
	v[atStrikeX] = math.Round((0.001+s.centre[0]+s.strike*n())*2000) / 2000
	v[atStrikeY] = math.Round((s.centre[1]+0.7*s.strike*n())*2000) / 2000
	off := (v[atStrikeX]*v[atStrikeX] + v[atStrikeY]*v[atStrikeY]) * 1e4
	if s.category == 0 {
		v[atBall] = tenth(v[atSpeed] * (1.47 - 0.008*off + 0.006*n()))
		v[atLaunch] = tenth(0.83*v[atLoft] + 0.17*v[atAttack] + 0.3*n())
		v[atSpin] = math.Round(max(600, 2600+150*(v[atLoft]-14.5)-60*v[atAttack]+150*n()))
		v[atLanding] = tenth(min(70, max(5, 38+1.1*(v[atLaunch]-12)+0.004*(v[atSpin]-2600))))
	} else {
		v[atBall] = tenth(v[atSpeed] * (1.36 - 0.008*off + 0.006*n()))
		v[atLaunch] = tenth(0.72*v[atLoft] + 0.1*v[atAttack] + 0.3*n())
		v[atSpin] = math.Round(max(1500, 6300+170*(v[atLoft]-25)-60*(v[atAttack]+4)+200*n()))
		v[atLanding] = tenth(min(75, max(10, 47+0.9*(v[atLaunch]-17)+0.001*(v[atSpin]-6300))))
	}
	return out
}

// tenth and cent round as devices do; never -0, which SQL would keep.
func tenth(x float64) float64 { return math.Round(x*10)/10 + 0 }
func cent(x float64) float64  { return math.Round(x*100)/100 + 0 }

// partRow is what a part of a trial amounts to; see trial.Row for the meaning.
type partRow struct {
	n, excluded                      int
	first, last                      int64
	firstOrder                       int
	mean, ss                         [len(fleetFields)]float64
	carryOffline, carry4             float64
	directionMean, directionSS, dir4 float64
}

// summarize computes a part's row from its shots in their order, in two passes
// as processors/visit/trial does, so that both give the same bits.
func summarize(shots []fleetShot) (p partRow) {
	for i := range shots {
		s := &shots[i]
		if s.excluded {
			p.excluded++
			continue
		}
		p.n++
		for f := range s.v {
			p.mean[f] += s.v[f]
		}
		p.directionMean += s.direction
	}
	if p.n == 0 {
		return p
	}
	for f := range p.mean {
		p.mean[f] /= float64(p.n)
	}
	p.directionMean /= float64(p.n)
	for i := range shots {
		s := &shots[i]
		if s.excluded {
			continue
		}
		for f := range s.v {
			d := s.v[f] - p.mean[f]
			p.ss[f] += d * d
		}
		c, o := s.v[atCarry]-p.mean[atCarry], s.v[atOffline]-p.mean[atOffline]
		p.carryOffline += c * o
		p.carry4 += c * c * (c * c)
		d := (s.direction - p.directionMean) * (s.direction - p.directionMean)
		p.directionSS += d
		p.dir4 += d * d
	}
	return p
}
