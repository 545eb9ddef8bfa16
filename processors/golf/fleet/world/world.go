// Package world makes fleets that are not as the model of the fleet believes: builds
// that many players share and that have effects of their own, studios in which a step
// does something else, devices with noise, traits that are measured with error, shots
// that miss altogether, fitters who know what the model cannot see.
//
// It shares nothing with the estimator but the type of a trial, and nothing with
// planted, whose worlds are the model's own: a proof needs a world that differs from
// what is proven. It is pure: the same options give the same fleet everywhere.
package world

import (
	"fmt"
	"math"
	"math/rand/v2"

	"fairlead/processors/golf/fleet"
)

// World says what is in it; the zero value of a field leaves its trouble out.
type World struct {
	Name    string
	Players int
	Studios int // 1 where 0

	Pool        int     // builds that all players choose from; 0: each player's builds are his own
	OwnBuild    float64 // sd of what a build of the pool does beyond its figures, in ln spread
	StudioSlope float64 // sd between studios of what a step does
	Folk        float64 // sd between studios of their players' ln spread: juniors here, champions there
	DeviceNoise float64 // deg, added by every second studio's device to each shot
	Reliability float64 // of measured traits, variance of the truth over that of the measured; 0: measured without error
	Mishits     float64 // share of shots three times as wide, whatever the build
	Suited      bool    // the fitter gives more loft to those alone whom it suits, by flair
	Lot         float64 // share of the new clubs that the lot gives, whoever it is
	Off         float64 // sd between a studio's bays of what their devices read off the traits, in the traits' own sd
	Flair       float64 // sd of a player's own gain from a step that the fitter sees: it is tried only by those who gain
}

// Effects of one step on ln spread, and of one more sd of speed on them.
var (
	main  = map[fleet.Attribute]float64{fleet.Length: 0.06, fleet.Lie: -0.03, fleet.Loft: 0}
	bySpd = map[fleet.Attribute]float64{fleet.Length: 0.03, fleet.Lie: 0, fleet.Loft: 0}
	// Attributes are those that builds differ in.
	Attributes = []fleet.Attribute{fleet.Length, fleet.Lie, fleet.Loft}
	// Traits are those that are measured.
	Traits = []string{"speed_mps", "attack_deg"}
	middle = map[fleet.Attribute]float64{fleet.Length: 1.143, fleet.Lie: 58, fleet.Loft: 10.5}
	people = map[string][2]float64{"speed_mps": {43, 4.5}, "attack_deg": {0, 3}}
)

const (
	baysEach   = 5    // bays of a studio, where devices read off
	ownSlope   = 0.05 // sd between players of what a step does
	trialNoise = 0.08 // sd of ln spread from trial to trial
	perVisit   = 9    // trials
)

// Truth is the coefficient of a term where a step is a step and a trait counts in the
// design's own spread: the mean over all players who could be asked, not only those
// who tried it.
func Truth(d *fleet.Design, term string) (float64, bool) {
	for i, name := range d.Traits {
		scale := d.Spread[i] / people[name][1]
		for a, v := range main {
			g := 0.0
			if name == "speed_mps" {
				g = bySpd[a]
			}
			switch term {
			case a.Name() + ":" + name:
				return g * scale, true
			case a.Name():
				if name == "speed_mps" {
					v += g * (d.Center[i] - people[name][0]) / people[name][1]
					return v, true
				}
			}
		}
	}
	return 0, false
}

// build is a club of the pool: steps from the middle, and what it does beyond them.
type build struct {
	name  string
	steps map[fleet.Attribute]float64
	own   float64
}

// Make makes the trials of a fleet.
func (w World) Make(seed uint64) []fleet.Trial {
	r := rand.New(rand.NewPCG(seed, 0x5851f42d4c957f2d))
	studios := max(w.Studios, 1)
	slope := make([]map[fleet.Attribute]float64, studios)
	for s := range slope {
		slope[s] = map[fleet.Attribute]float64{}
		for _, a := range Attributes {
			slope[s][a] = w.StudioSlope * r.NormFloat64()
		}
	}
	folk := make([]float64, studios)
	if w.Folk > 0 {
		for s := range folk {
			folk[s] = w.Folk * r.NormFloat64()
		}
	}
	var pool []build
	for i := range w.Pool {
		b := build{fmt.Sprintf("pool-%02d", i), map[fleet.Attribute]float64{}, w.OwnBuild * r.NormFloat64()}
		for _, a := range Attributes {
			b.steps[a] = math.Round(2*r.NormFloat64()) / 2 * 1.5
		}
		pool = append(pool, b)
	}
	var out []fleet.Trial
	if w.Off > 0 {
		defer func() { w.bias(out, w.Offsets(seed)) }()
	}
	for p := range w.Players {
		out = append(out, w.visits(r, p, p%studios, folk[p%studios], slope[p%studios], pool)...)
	}
	return out
}

// Offsets are what the devices of each studio's bays read off the traits, in the
// traits' own sd: flat, not normal, and more in one studio than in the next.
func (w World) Offsets(seed uint64) (out [][]float64) {
	r := rand.New(rand.NewPCG(seed, 0x2545f4914f6cdd1d))
	for range max(w.Studios, 1) {
		wide := w.Off * (0.5 + r.Float64())
		var studio []float64
		for range baysEach {
			studio = append(studio, wide*math.Sqrt(12)*(r.Float64()-0.5))
		}
		out = append(out, studio)
	}
	return out
}

// bias puts each player into a bay and has its device read off.
func (w World) bias(all []fleet.Trial, off [][]float64) {
	for i := range all {
		t := &all[i]
		var player, studio int
		fmt.Sscanf(t.Player, "player-%d", &player)
		fmt.Sscanf(t.Studio, "studio-%d", &studio)
		bay := player / max(w.Studios, 1) % baysEach
		t.Bay = fmt.Sprintf("bay-%d", bay)
		t.Device = fmt.Sprintf("%s-%s", t.Studio, t.Bay)
		for k, name := range fleet.TraitNames {
			if f, ok := people[name]; ok {
				t.Traits[k] += f[1] * off[studio][bay]
			}
		}
	}
}

// visits are one player's two.
func (w World) visits(r *rand.Rand, id, studio int, folk float64, slope map[fleet.Attribute]float64, pool []build) []fleet.Trial {
	z := map[string]float64{}
	measured := fleet.NoTraits()
	var errors [fleet.TraitCount]float64
	for i, name := range fleet.TraitNames {
		f, ok := people[name]
		if !ok {
			continue
		}
		z[name] = r.NormFloat64()
		x := z[name]
		if w.Reliability > 0 {
			errors[i] = (1/w.Reliability - 1) * f[1] * f[1]
			x += math.Sqrt(1/w.Reliability-1) * r.NormFloat64()
		}
		measured[i] = f[0] + f[1]*x
	}
	mine := map[fleet.Attribute]float64{}
	flair := map[fleet.Attribute]float64{}
	for _, a := range Attributes {
		flair[a] = w.Flair * r.NormFloat64()
		mine[a] = main[a] + bySpd[a]*z["speed_mps"] + slope[a] + ownSlope*r.NormFloat64() + flair[a]
	}
	level := math.Log(2.8) + folk + 0.3*r.NormFloat64()
	own := map[fleet.Attribute]float64{}
	for _, a := range Attributes {
		own[a] = math.Round(2*r.NormFloat64()) / 2
	}
	var out []fleet.Trial
	for v := range 2 {
		day, shot := level+0.1*r.NormFloat64(), 1
		for k := range perVisit {
			b := build{fmt.Sprintf("own-%d", id), own, 0}
			gamer := k == 0 || k == perVisit-1
			why := ""
			if !gamer {
				b = w.choose(r, id, v, k, own, flair, pool)
				if r.Float64() < w.Lot {
					why = fleet.Drawn
					b = World{}.choose(r, id, v, k, own, flair, pool)
				}
			}
			t := fleet.Trial{Player: fmt.Sprintf("player-%05d", id), Session: fmt.Sprintf("visit-%05d-%d", id, v),
				Studio: fmt.Sprintf("studio-%02d", studio), Bay: "north", Device: fmt.Sprintf("device-%02d", studio),
				Fitter:   fmt.Sprintf("fitter-%02d", studio),
				Category: "driver", Build: b.name, Ball: "range", Surface: "mat", Gamer: gamer, Why: why, Level: 1, Number: k + 1, FirstShot: shot,
				Attributes: fleet.NoAttributes(), Traits: measured, TraitErrors: errors}
			ln := day + b.own + trialNoise*r.NormFloat64()
			for _, a := range Attributes {
				t.Attributes[a] = middle[a] + b.steps[a]*a.Step()
				ln += mine[a] * b.steps[a]
			}
			t.Shots = w.hit(r, math.Exp(ln), math.Exp(day), studio%2 == 1)
			shot += t.Shots.N
			out = append(out, t)
		}
	}
	return out
}

// choose picks the next club: one of the pool, or one that the fitter makes of the
// player's own. A fitter with flair tries a step only on those it will suit.
func (w World) choose(r *rand.Rand, id, v, k int, own, flair map[fleet.Attribute]float64, pool []build) build {
	if len(pool) > 0 {
		return pool[r.IntN(len(pool))]
	}
	b := build{fmt.Sprintf("made-%d-%d-%d", id, v, k), map[fleet.Attribute]float64{}, 0}
	for _, a := range Attributes {
		b.steps[a] = own[a]
	}
	a := Attributes[r.IntN(len(Attributes))]
	step := float64(1 - 2*r.IntN(2))
	switch {
	case w.Suited:
		if a == fleet.Loft && flair[a] > 0 { // it widens this player's: a step of another kind
			a = fleet.Lie
		}
		step = math.Abs(step)
	case w.Flair > 0 && flair[a]*step > 0:
		step = -step // the way that tightens for this player
	}
	b.steps[a] += step * float64(1+r.IntN(2))
	return b
}

// hit makes shots about an aim and sums them up.
func (w World) hit(r *rand.Rand, sd, usual float64, noisy bool) fleet.Summary {
	n := 9 + r.IntN(7)
	aim := 0.5 * r.NormFloat64()
	x, c := make([]float64, n), make([]float64, n)
	s := fleet.Summary{N: n, Directed: n}
	for i := range x {
		x[i] = aim + sd*r.NormFloat64()
		if r.Float64() < w.Mishits {
			x[i] = aim + 3*usual*r.NormFloat64()
		}
		if noisy {
			x[i] += w.DeviceNoise * r.NormFloat64()
		}
		c[i] = 205 + 7*r.NormFloat64()
		s.Direction += x[i] / float64(n)
		s.Carry += c[i] / float64(n)
	}
	for i := range x {
		a, b := x[i]-s.Direction, c[i]-s.Carry
		s.DirectionSS += a * a
		s.DirectionS4 += a * a * a * a
		s.CarrySS += b * b
		s.CarryS4 += b * b * b * b
		off := c[i] * math.Tan(a*math.Pi/180)
		s.OfflineSS += off * off
		s.CarryOffline += b * off
	}
	return s
}
