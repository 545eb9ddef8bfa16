package world

import (
	"fmt"
	"math"
	"math/rand/v2"

	"fairlead/processors/golf/fleet"
)

// Passage is a fleet of which it is known on which way a step works: each shot is struck,
// swung and delivered, and flies where that sends it. Steps are on ln spreads of strike,
// face and what is neither, and m/s of clubhead speed.
type Passage struct {
	Name    string
	Players int
	// Of one step of length.
	Strike, Face, Rest, Speed float64
	// BadMinute is the sd from trial to trial of ln spread of everything at once, which
	// no build made: a common cause that the strike gets the blame for.
	BadMinute float64
}

// What a middling shot's direction is made of, in deg.
const (
	perStrike   = 220.0 // deg of direction for each m off the centre
	strikeSD    = 0.008 // m, each axis
	faceSD      = 1.6
	pathSD      = 1.2
	restSD      = 1.0
	perSpeed    = 0.015 // ln spread for each m/s more
	middleSpeed = 43.0
)

// Truth is what one step of length does to ln spread of direction as a whole, the mean of
// one up and one down, and what of it goes through the strike, the speed, the delivery:
// each is what moving it alone would do.
func (p Passage) Truth() (whole float64, ways map[string]float64) {
	spread := func(strike, face, rest, speed float64) float64 {
		s, f, r := perStrike*strikeSD*math.Exp(strike), faceSD*math.Exp(face), restSD*math.Exp(rest)
		return 0.5*math.Log(s*s+f*f+r*r) + perSpeed*speed
	}
	step := func(strike, face, rest, speed float64) float64 {
		return (spread(strike, face, rest, speed) - spread(-strike, -face, -rest, -speed)) / 2
	}
	return step(p.Strike, p.Face, p.Rest, p.Speed), map[string]float64{
		fleet.ThroughStrike: step(p.Strike, 0, 0, 0), fleet.ThroughDelivery: step(0, p.Face, 0, 0), fleet.ThroughSpeed: step(0, 0, 0, p.Speed),
	}
}

// Make makes its trials: two visits each, the own club first and last, between them steps
// of length or lie, which does nothing.
func (p Passage) Make(seed uint64) (out []fleet.Trial) {
	r := rand.New(rand.NewPCG(seed, 0x706173736167))
	for id := range p.Players {
		level, speed := 0.25*r.NormFloat64(), middleSpeed+4*r.NormFloat64()
		own := [2]float64{math.Round(2*r.NormFloat64()) / 2, math.Round(2*r.NormFloat64()) / 2}
		slope := 0.02 * r.NormFloat64() // of the strike, this player's own
		for visit := range 2 {
			shot := 1
			for k := range perVisit {
				steps := own
				gamer := k == 0 || k == perVisit-1
				if !gamer {
					steps[r.IntN(2)] += float64(1-2*r.IntN(2)) * float64(1+r.IntN(2))
				}
				t := fleet.Trial{Player: fmt.Sprintf("player-%05d", id), Session: fmt.Sprintf("visit-%05d-%d", id, visit), Studio: "studio",
					Bay: "north", Device: "device", Fitter: "fitter", Category: "driver", Build: fmt.Sprint(id, steps), Ball: "range",
					Surface: "mat", Gamer: gamer, Level: 1, Number: k + 1, FirstShot: shot, Attributes: fleet.NoAttributes(),
					Traits: fleet.NoTraits()}
				t.Attributes[fleet.Length] = middle[fleet.Length] + steps[0]*fleet.Length.Step()
				t.Attributes[fleet.Lie] = middle[fleet.Lie] + steps[1]*fleet.Lie.Step()
				bad := level + p.BadMinute*r.NormFloat64()
				p.hit(r, &t, steps[0], slope, bad, speed)
				shot += t.Shots.N
				out = append(out, t)
			}
		}
	}
	return out
}

// hit makes a trial's shots and sums them up.
func (p Passage) hit(r *rand.Rand, t *fleet.Trial, length, slope, bad, speed float64) {
	n := 10 + r.IntN(6)
	strike := strikeSD * math.Exp(bad+(p.Strike+slope)*length+0.08*r.NormFloat64())
	face := faceSD * math.Exp(bad+p.Face*length+0.08*r.NormFloat64())
	path := pathSD * math.Exp(bad+0.08*r.NormFloat64())
	rest := restSD * math.Exp(bad+p.Rest*length+0.05*r.NormFloat64())
	speed += p.Speed*length + 0.4*r.NormFloat64()
	var x, y, f, w, v, d, c []float64
	for range n {
		v = append(v, speed+0.6*r.NormFloat64())
		x, y = append(x, strike*r.NormFloat64()), append(y, strike*r.NormFloat64())
		f, w = append(f, face*r.NormFloat64()), append(w, path*r.NormFloat64())
		k := len(v) - 1
		d = append(d, math.Exp(perSpeed*(v[k]-middleSpeed))*(perStrike*x[k]+f[k]+rest*r.NormFloat64()))
		c = append(c, 205+7*r.NormFloat64())
	}
	i := &t.Impact
	i.StrikeN, i.SpeedN, i.FaceN, i.PathN = n, n, n, n
	_, sx := about(x)
	_, sy := about(y)
	i.StrikeSS = sx + sy
	i.Speed, i.SpeedSS = about(v)
	_, i.FaceSS = about(f)
	_, i.PathSS = about(w)
	s := &t.Shots
	s.N, s.Directed = n, n
	s.Direction, s.DirectionSS = about(d)
	s.Carry, s.CarrySS = about(c)
	for _, z := range d {
		s.DirectionS4 += math.Pow(z-s.Direction, 4)
	}
	for _, z := range c {
		s.CarryS4 += math.Pow(z-s.Carry, 4)
	}
}

// about is a mean and the sum of squares about it.
func about(x []float64) (mean, ss float64) {
	for _, z := range x {
		mean += z / float64(len(x))
	}
	for _, z := range x {
		ss += (z - mean) * (z - mean)
	}
	return mean, ss
}
