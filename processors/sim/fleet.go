package sim

import (
	"fmt"
	"math"
	"time"
)

// Traits are the six moderators of the standard fleet model, in its order and
// with its names; directions are handed.
var Traits = [6]string{"speed_mps", "attack_deg", "path_deg", "face_to_path_deg", "dynamic_loft_deg", "strike_scatter_ln"}

// TraitValues is one value for each trait.
type TraitValues [6]float64

// FleetOptions say how large a fleet is and how well behaved. What is left at
// zero is absent, except where a default is named.
type FleetOptions struct {
	Players    int          `json:"players"`
	Seed       uint64       `json:"seed"`
	Left       float64      `json:"left_handed"`        // share of left-handers
	Tails      int          `json:"tails"`              // degrees of freedom of the shots' scatter; 0: normal
	Mishits    float64      `json:"mishits"`            // share of the shots
	Excluded   float64      `json:"mishits_excluded"`   // share of the mishits that the fitter excludes
	Order      bool         `json:"order_effects"`      // warm-up, fatigue and carry-over change the scatter
	Selection  float64      `json:"selection"`          // 0..1, how strongly the fitter gives heavy, stiff shafts to fast swings only
	Lots       float64      `json:"lots,omitempty"`     // share of the clubs that the lot gives, of two on offer, by a logged chance
	Hunch      float64      `json:"hunch,omitempty"`    // 0..1, how often the fitter sees which of the two suits this player, as no model can
	Wander     float64      `json:"wander,omitempty"`   // of a trial's carry and direction, as a share of the scatter: see RunWander
	DeviceBias float64      `json:"device_bias"`        // sd between bays: of carry as a share, of direction in tenths of deg, of both scatters as a share
	Instructed float64      `json:"instructed"`         // share of the sessions with an instruction in mid-trial
	Unknown    float64      `json:"gamers_unknown"`     // share of the players whose own club nobody measured
	NoEffect   bool         `json:"no_effect"`          // every planted effect, slope and interaction is 0
	Null       float64      `json:"null_share"`         // share of the planted effects that are set to 0, for false discoveries
	PerStudio  int          `json:"players_per_studio"` // 1500
	Shots      int          `json:"shots_per_trial"`    // mean: 8
	Start      int64        `json:"start_unix_ns"`      // of the first session: 5 January 2026
	Beside     bool         `json:"beside,omitempty"`   // no studio of it is harbour-row, so that it may stand beside a running one
	Trade      TradeOptions `json:"trade,omitzero"`     // years, a catalogue, verdicts and what came of them
	MirrorAll  bool         `json:"mirror_all"`         // everybody is seen in a mirror: left-handers become right-handers and back
}

// Planted is the truth of a fleet: how an outcome of a trial follows from the
// club and the swing. With x the club's attributes in steps from the standard
// club of the category, z the player's traits as standard scores,
//
//	outcome = player + Σ(Main·x + Curve·x² + Σ Moderated·z·x + slope of the player·x) + order + trial noise
//
// Direction and carry control are logarithms of a standard deviation (degrees;
// percent of carry). Carry is in m.
type Planted struct {
	Direction    Response6 `json:"direction"`
	CarryControl Response6 `json:"carry_control"`
	Carry        Response6 `json:"carry"`
	Trade        *Trade    `json:"trade,omitempty"`
}

// Response6 is how one outcome answers to a club.
type Response6 struct {
	Main      Attributes              `json:"main"`      // a step
	Curve     Attributes              `json:"curve"`     // a step squared, about the standard club
	Moderated [attributes]TraitValues `json:"moderated"` // a step and standard score
	SlopeSD   Attributes              `json:"slope_sd"`  // between players, a step
	TrialSD   float64                 `json:"trial_sd"`  // τ
	// Order effects on a trial: of the first, falling by half each trial; and
	// more with each trial. Settling is on the first shot after a swap (as a
	// logarithm of its scatter), falling by half each shot.
	WarmUp   float64 `json:"warm_up"`
	Fatigue  float64 `json:"fatigue"`
	Settling float64 `json:"settling"`
	// Instruction is what one changes, for trials after it.
	Instruction float64 `json:"instruction"`
}

// Scale is how a trait becomes a standard score in a category: (value − Centre)/SD.
type Scale struct {
	Centre TraitValues `json:"centre"`
	SD     TraitValues `json:"sd"`
}

// fleetCategories are what fleets are about.
var fleetCategories = [...]string{"driver", "iron"}

var fleetScales = [len(fleetCategories)]Scale{
	{TraitValues{41.5, -0.5, -1, 0.5, 14.5, math.Log(0.0085)}, TraitValues{4.5, 2, 3, 2, 2, 0.25}},
	{TraitValues{33.5, -4, -1, 0.5, 25, math.Log(0.0085)}, TraitValues{3.5, 1.5, 3, 2, 2.5, 0.25}},
}

// Fleet draws a fleet's rows. It is read-only after NewFleet and may be used
// by any number of goroutines.
type Fleet struct {
	Options FleetOptions
	Planted Planted
	bays    []bayBias
	builds  *buildCache
	stock   *catalogue // of a trade
}

// bayBias is what a bay's device adds.
type bayBias struct {
	Studio    string  `json:"studio"`
	Bay       string  `json:"bay"`
	Device    string  `json:"device"`
	Carry     float64 `json:"carry_share"`
	Direction float64 `json:"direction_deg"`
	Scatter   float64 `json:"scatter_ln"`
}

var fleetBays = [...]string{"north", "pier", "quay", "south"} // in the order of their names, as the table is sorted

// mostAStudio bounds players a studio times shots a trial. A studio's shots are
// 8.5 times as many, and one insert; the embedded engine takes about 2.5 kB of
// memory for each.
const mostAStudio = 30_000

// NewFleet plants a fleet.
func NewFleet(o FleetOptions) (*Fleet, error) {
	if o.Players < 1 || o.Players > 100_000_000 {
		return nil, fmt.Errorf("a fleet of %d players: give 1 to 100 million", o.Players)
	}
	if o.Tails != 0 && o.Tails < 3 {
		return nil, fmt.Errorf("tails of %d degrees of freedom have no variance: give 0 for normal, or 3 and more", o.Tails)
	}
	for name, p := range map[string]float64{"left-handers": o.Left, "mishits": o.Mishits, "excluded mishits": o.Excluded,
		"selection": o.Selection, "lots": o.Lots, "hunches": o.Hunch,
		"instructed sessions": o.Instructed, "unknown gamers": o.Unknown, "null effects": o.Null} {
		if !(p >= 0 && p <= 1) {
			return nil, fmt.Errorf("a share of %g of %s: give 0 to 1", p, name)
		}
	}
	if !(o.DeviceBias >= 0 && o.DeviceBias <= 0.3) {
		return nil, fmt.Errorf("a device bias of %g: give 0 to 0.3", o.DeviceBias)
	}
	if !(o.Wander >= 0 && o.Wander <= 2) {
		return nil, fmt.Errorf("a wander of %g of the scatter: give 0 to 2", o.Wander)
	}
	if o.PerStudio == 0 {
		o.PerStudio = 1500
	}
	if o.Shots == 0 {
		o.Shots = 8
	}
	if o.PerStudio < 1 || o.Shots < 2 || o.Shots > 200 {
		return nil, fmt.Errorf("%d players a studio and %d shots a trial: give at least 1, and 2 to 200", o.PerStudio, o.Shots)
	}
	if rows := o.PerStudio * o.Shots; min(o.Players, o.PerStudio)*o.Shots > mostAStudio {
		return nil, fmt.Errorf("%d players a studio with %d shots a trial are %d; at most %d, so that one insert fits into the store's memory: "+
			"lower the players a studio", o.PerStudio, o.Shots, rows, mostAStudio)
	}
	if err := o.Trade.check(); err != nil {
		return nil, err
	}
	if o.Start == 0 {
		o.Start = time.Date(2026, 1, 5, 8, 0, 0, 0, time.UTC).UnixNano()
	}
	f := &Fleet{Options: o, Planted: plant(o), builds: newBuildCache()}
	if o.Trade.trades() {
		f.Planted.Trade, f.stock = &thisTrade, newCatalogue(&o)
	}
	r := source(o.Seed, "fleet bays")
	for s := range f.Studios() {
		for _, name := range fleetBays {
			b := bayBias{Studio: f.studio(s), Bay: name, Device: pick(r, []string{"larch", "sorrel", "cinder"})}
			if o.DeviceBias > 0 {
				b.Carry, b.Direction, b.Scatter = normal(r, 0, o.DeviceBias), normal(r, 0, 10*o.DeviceBias), normal(r, 0, o.DeviceBias)
			}
			f.bays = append(f.bays, b)
		}
	}
	return f, nil
}

// plant draws the effects: the sizes are those of the trade's findings, small
// on average and larger between players.
func plant(o FleetOptions) Planted {
	if o.NoEffect {
		return Planted{Direction: Response6{TrialSD: 0.05}, CarryControl: Response6{TrialSD: 0.05}, Carry: Response6{TrialSD: fleetCarryWander}}
	}
	p := Planted{
		//                                length loft lie  shaft  flex  torque  head  swing weight
		Direction: Response6{
			Main: Attributes{0.030, -0.010, 0, -0.025, -0.010, 0.015, -0.010, 0}, Curve: Attributes{0.012, 0, 0.008, 0, 0, 0, 0, 0},
			SlopeSD: Attributes{0.02, 0.01, 0.01, 0.04, 0.04, 0.015, 0.02, 0}, TrialSD: 0.05,
		},
		CarryControl: Response6{
			Main: Attributes{0.020, 0.005, 0, -0.020, 0, 0.010, -0.015, 0}, Curve: Attributes{0.010, 0.006, 0, 0, 0, 0, 0, 0},
			SlopeSD: Attributes{0.02, 0.01, 0.005, 0.03, 0.03, 0.01, 0.02, 0}, TrialSD: 0.05,
		},
		Carry: Response6{
			Main: Attributes{0.9, -1.2, 0, -0.6, 0, 0, -0.3, 0}, SlopeSD: Attributes{0.5, 0.4, 0.1, 0.8, 0.8, 0.2, 0.4, 0},
			TrialSD: fleetCarryWander,
		},
	}
	const speed, path, face, strike = 0, 2, 3, 5
	p.Direction.Moderated[ShaftWeight][speed] = -0.030
	p.Direction.Moderated[Flex][speed] = -0.025
	p.Direction.Moderated[Length][strike] = 0.015
	p.Direction.Moderated[Torque][face] = 0.012
	p.Direction.Moderated[Lie][path] = 0.010
	p.CarryControl.Moderated[ShaftWeight][speed] = -0.020
	p.CarryControl.Moderated[Length][strike] = 0.015
	p.Carry.Moderated[Flex][speed] = 0.5
	if o.Order {
		p.Direction.WarmUp, p.Direction.Fatigue, p.Direction.Settling = 0.12, 0.012, 0.25
		p.CarryControl.WarmUp, p.CarryControl.Fatigue, p.CarryControl.Settling = 0.12, 0.015, 0.2
		p.Carry.WarmUp, p.Carry.Fatigue = -3, -0.3
	}
	p.Direction.Instruction, p.CarryControl.Instruction, p.Carry.Instruction = 0.15, 0.12, -1.5
	if o.Null > 0 {
		r := source(o.Seed, "null effects")
		for _, q := range []*Response6{&p.Direction, &p.CarryControl, &p.Carry} {
			for a := range q.Main {
				if chance(r, o.Null) {
					q.Main[a], q.Curve[a] = 0, 0
				}
				for t := range q.Moderated[a] {
					if chance(r, o.Null) {
						q.Moderated[a][t] = 0
					}
				}
			}
		}
	}
	return p
}

// Studios is how many studios share the players.
func (f *Fleet) Studios() int {
	return (f.Options.Players + f.Options.PerStudio - 1) / f.Options.PerStudio
}

func (f *Fleet) studio(n int) string {
	if f.Options.Beside {
		n++
	}
	if n == 0 {
		return "harbour-row"
	}
	return fmt.Sprintf("harbour-row-%04d", n+1)
}

// mean is what a club does to an outcome for a player, without noise.
func (q *Response6) mean(x, slope *Attributes, z *TraitValues) (y float64) {
	for a, v := range x {
		if v == 0 {
			continue
		}
		g := q.Main[a] + slope[a] + q.Curve[a]*v
		for t, m := range q.Moderated[a] {
			if m != 0 {
				g += m * z[t]
			}
		}
		y += g * v
	}
	return y
}

// order is what the place in the session does, the first trial being 0.
func (q *Response6) order(trial int) float64 {
	return q.WarmUp*math.Pow(0.5, float64(trial)) + q.Fatigue*float64(trial)
}
