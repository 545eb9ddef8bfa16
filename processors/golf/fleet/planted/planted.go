// Package planted makes fleets whose truth is known: players with traits and
// slopes of their own, who hit trials with builds, shot by shot. What a fleet
// question finds in them can be held against what was planted.
//
// It is pure: the same options give the same fleet on every machine.
package planted

import (
	"fmt"
	"math"
	"math/rand/v2"

	"fairlead/processors/golf/fleet"
)

// Options describe a fleet. The zero value of a field that can break an answer
// leaves it out.
type Options struct {
	Players, Sessions, Trials, Shots int
	Seed                             uint64
	Attributes                       []fleet.Attribute // that builds differ in
	Traits                           []string          // that effects depend on
	// Null is the share of attribute terms whose true effect is zero.
	Null float64

	Order      bool    // warm-up, fatigue and carry-over
	Selection  bool    // the fitter chooses builds by the player's traits and repeats the best
	BayBias    bool    // devices of some bays read wide, by up to a third
	Tails      bool    // shots from t with five degrees of freedom
	Mishits    float64 // share of shots that miss by three times the player's spread, whatever the build
	Instructed bool    // in every second session an instruction in mid-trial
	Lefties    float64 // share of left-handers, in raw (unmirrored) values
}

// Truth is what was planted, for steps from Reference and traits about Center
// in units of Spread.
type Truth struct {
	Terms          map[string]float64 // attribute, attribute:trait, attribute_curve, order terms
	SlopeSD        map[string]float64
	Tau            float64
	Reference      map[fleet.Attribute]float64
	Center, Spread map[string]float64
}

var reference = map[fleet.Attribute][2]float64{ // mean and spread of gamers
	fleet.Length: {1.143, 0.010}, fleet.Loft: {10.5, 1}, fleet.Lie: {58, 1.2}, fleet.ShaftWeight: {0.060, 0.008},
	fleet.Flex: {2.6, 0.7}, fleet.Torque: {4, 0.8}, fleet.HeadWeight: {0.199, 0.005}, fleet.SwingWeight: {0.154, 0.002},
}

var population = map[string][2]float64{
	"speed_mps": {44, 5}, "attack_deg": {0.5, 3}, "path_deg": {-1, 3}, "face_to_path_deg": {0.5, 2}, "dynamic_loft_deg": {14, 2.5},
	"strike_x_m": {0.002, 0.008}, "strike_y_m": {0.001, 0.006}, "strike_scatter_ln": {-4.4, 0.3}, "tempo_ratio": {3, 0.3},
}

// Fleet makes the trials of a driver fleet with direction as the outcome.
func Fleet(o Options) ([]fleet.Trial, *Truth) {
	rng := rand.New(rand.NewPCG(o.Seed, 0x9e3779b97f4a7c15))
	truth := plant(o, rng)
	var trials []fleet.Trial
	for p := range o.Players {
		trials = append(trials, player(o, truth, rng, p)...)
	}
	return trials, truth
}

// plant draws the true coefficients: on the scale of ln spread, a step is worth
// a few percent, and players differ by as much.
func plant(o Options, rng *rand.Rand) *Truth {
	t := &Truth{Terms: map[string]float64{}, SlopeSD: map[string]float64{}, Tau: 0.10,
		Reference: map[fleet.Attribute]float64{}, Center: map[string]float64{}, Spread: map[string]float64{}}
	for _, n := range o.Traits {
		t.Center[n], t.Spread[n] = population[n][0], population[n][1]
	}
	draw := func(sd float64) float64 {
		x := rng.NormFloat64() * sd
		if rng.Float64() < o.Null {
			return 0
		}
		return x
	}
	for _, a := range o.Attributes {
		t.Reference[a] = reference[a][0]
		t.Terms[a.Name()] = draw(0.08)
		t.SlopeSD[a.Name()] = 0.04 + 0.04*rng.Float64()
		for _, n := range o.Traits {
			t.Terms[a.Name()+":"+n] = draw(0.06)
		}
		if a == fleet.Length || a == fleet.Loft || a == fleet.Lie {
			t.Terms[a.Name()+"_curve"] = 0.02 * rng.Float64()
		}
	}
	t.Terms["warm_up"], t.Terms["fatigue"], t.Terms["swap"] = 0, 0, 0
	if o.Order {
		t.Terms["warm_up"], t.Terms["fatigue"], t.Terms["swap"] = 0.35, 0.06, 0.03
	}
	return t
}

// In returns the true terms as a design measures them: from its own reference
// and its own centre and spread of the traits.
func (t *Truth) In(d *fleet.Design) map[string]float64 {
	out := map[string]float64{}
	for k, v := range t.Terms {
		out[k] = v
	}
	for _, a := range d.Attributes {
		shift := (d.Reference[a] - t.Reference[a]) / a.Step()
		main := t.Terms[a.Name()] + 2*t.Terms[a.Name()+"_curve"]*shift
		for i, n := range d.Traits {
			g := t.Terms[a.Name()+":"+n]
			main += g * (d.Center[i] - t.Center[n]) / t.Spread[n]
			out[a.Name()+":"+n] = g * d.Spread[i] / t.Spread[n]
		}
		out[a.Name()] = main
	}
	return out
}

// player makes one player's trials.
func player(o Options, truth *Truth, rng *rand.Rand, id int) []fleet.Trial {
	z := map[string]float64{}
	traits := fleet.NoTraits()
	left := rng.Float64() < o.Lefties
	for i, n := range fleet.TraitNames {
		m := population[n]
		x := rng.NormFloat64()
		z[n] = x
		traits[i] = m[0] + m[1]*x
		if left && (n == "path_deg" || n == "face_to_path_deg") {
			traits[i] = -traits[i]
		}
	}
	slope := map[fleet.Attribute]float64{}
	gamer := fleet.NoAttributes()
	for a, m := range reference {
		gamer[a] = m[0]
	}
	for _, a := range fleet.AllAttributes() {
		gamer[a] += reference[a][1] * rng.NormFloat64()
	}
	for _, a := range o.Attributes {
		slope[a] = rng.NormFloat64() * truth.SlopeSD[a.Name()]
		for _, n := range o.Traits {
			slope[a] += truth.Terms[a.Name()+":"+n] * z[n]
		}
		slope[a] += truth.Terms[a.Name()]
	}
	skill := math.Log(2.6) + 0.3*rng.NormFloat64()
	p := &hitter{o: o, truth: truth, rng: rng, slope: slope, skill: skill}
	var out []fleet.Trial
	for s := range o.Sessions {
		base := fleet.Trial{
			Player: fmt.Sprintf("player-%06d", id), Session: fmt.Sprintf("player-%06d-%d", id, s), Studio: "Harbour Row",
			Bay: []string{"north", "south", "quay", "pier"}[rng.IntN(4)], Device: "radar", Fitter: fmt.Sprint("fitter-", rng.IntN(3)),
			Category: "driver", Ball: "range", Surface: "mat", LeftHanded: left, Traits: traits,
		}
		out = append(out, p.session(base, gamer, z)...)
	}
	return out
}

// hitter is a player at work.
type hitter struct {
	o     Options
	truth *Truth
	rng   *rand.Rand
	slope map[fleet.Attribute]float64
	skill float64
	shot  int
	level float64
}

// session: the gamer, then builds that change one or two attributes, then the
// gamer (or, under selection, the best build so far) again.
func (h *hitter) session(base fleet.Trial, gamer [fleet.AttributeCount]float64, z map[string]float64) []fleet.Trial {
	o, rng := h.o, h.rng
	h.shot, h.level = 0, h.skill+0.15*rng.NormFloat64()
	if o.BayBias {
		h.level += map[string]float64{"north": 0, "south": 0.1, "quay": 0.3, "pier": -0.1}[base.Bay]
	}
	instructed := o.Instructed && rng.IntN(2) == 0
	at := 2 + rng.IntN(max(o.Trials-3, 1))
	var out []fleet.Trial
	best := -1
	for k := range o.Trials {
		t := base
		t.Number, t.Level = len(out)+1, 1
		t.Attributes = gamer
		t.Build, t.Gamer = "gamer", true
		switch {
		case k == 0:
		case k == o.Trials-1:
			if o.Selection && best >= 0 {
				t.Attributes, t.Build, t.Gamer = out[best].Attributes, out[best].Build, out[best].Gamer
			}
		default:
			t.Gamer = false
			for range 1 + rng.IntN(2) {
				a := o.Attributes[rng.IntN(len(o.Attributes))]
				steps := float64(1+rng.IntN(2)) * float64(1-2*rng.IntN(2))
				if o.Selection && len(o.Traits) > 0 {
					// Longer, lighter, more upright … only for those at one end.
					steps = math.Abs(steps)
					if z[o.Traits[0]] > 0.3*rng.NormFloat64() {
						steps = -steps
					}
				}
				t.Attributes[a] = gamer[a] + steps*a.Step()
			}
			t.Build = fmt.Sprintf("build-%d-%s", k, base.Session)
		}
		var before *fleet.Trial
		if len(out) > 0 {
			before = &out[len(out)-1]
		}
		after := instructed && k > at
		if after {
			t.Instruction, t.Level = "ball back in the stance", 2
		}
		if instructed && k == at {
			// The instruction falls into the trial: two parts, two levels.
			n := o.Shots / 2
			first := h.hit(t, before, n, 0)
			out = append(out, first)
			t.Number, t.Instruction, t.Level = len(out)+1, "ball back in the stance", 2
			out = append(out, h.hit(t, &out[len(out)-1], o.Shots-n, -0.2))
			continue
		}
		shift := 0.0
		if after {
			shift = -0.2
		}
		out = append(out, h.hit(t, before, o.Shots, shift))
		if i := len(out) - 1; best < 0 || out[i].Shots.DirectionSS < out[best].Shots.DirectionSS {
			best = i
		}
	}
	return out
}

// hit makes the shots of a trial and sums them up.
func (h *hitter) hit(t fleet.Trial, before *fleet.Trial, mean int, shift float64) fleet.Trial {
	rng := h.rng
	n := max(5, mean-2+rng.IntN(5))
	t.FirstShot = h.shot + 1
	h.shot += n
	t.Shots.N, t.Shots.Directed = n, n
	lnSD := h.level + shift + h.truth.Tau*rng.NormFloat64()
	d := fleet.Design{Attributes: fleet.AllAttributes(), Order: true}
	ord := d.OrderColumns(&t, before)
	lnSD += h.truth.Terms["warm_up"]*ord[0] + h.truth.Terms["fatigue"]*ord[1] + h.truth.Terms["swap"]*ord[2]
	for _, a := range h.o.Attributes {
		x := (t.Attributes[a] - h.truth.Reference[a]) / a.Step()
		lnSD += h.slope[a]*x + h.truth.Terms[a.Name()+"_curve"]*x*x
	}
	sd, aim := math.Exp(lnSD), 0.5*rng.NormFloat64()
	shots := make([]float64, n)
	carry := make([]float64, n)
	for i := range shots {
		e := rng.NormFloat64()
		if h.o.Tails {
			e *= math.Sqrt(3 / chi2(rng, 5)) // unit variance: t₅ has 5/3
		}
		shots[i] = aim + sd*e
		if rng.Float64() < h.o.Mishits {
			shots[i] = aim + 3*math.Exp(h.level)*rng.NormFloat64()
		}
		carry[i] = 205 + 7*rng.NormFloat64()
	}
	m, c := 0.0, 0.0
	for i := range shots {
		m += shots[i] / float64(n)
		c += carry[i] / float64(n)
	}
	t.Shots.Direction, t.Shots.Carry = m, c
	for i := range shots {
		a, b := shots[i]-m, carry[i]-c
		t.Shots.DirectionSS += a * a
		t.Shots.DirectionS4 += a * a * a * a
		t.Shots.CarrySS += b * b
		t.Shots.CarryS4 += b * b * b * b
		off := carry[i] * math.Tan(a*math.Pi/180)
		t.Shots.OfflineSS += off * off
		t.Shots.CarryOffline += b * off
	}
	return t
}

// chi2 is a χ² variate with a whole number of degrees.
func chi2(rng *rand.Rand, k int) float64 {
	s := 0.0
	for range k {
		x := rng.NormFloat64()
		s += x * x
	}
	return s
}
