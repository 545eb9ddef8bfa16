package profile

import (
	"fmt"
	"math"

	"fairlead/ingest/contract/glossary"
	"fairlead/processors/golf/club"
)

// Build is what of a club's build bears on how it is delivered.
type Build struct {
	Length Opt // m
	Loft   Opt // deg, static
	Lie    Opt // deg, static, 62 not +1
}

// Reference is the build that profiles of a category are adjusted to, so that
// a player measured with a long club and one with a short one compare. Usual
// figures of the trade; what counts is only that all use the same.
func Reference(c glossary.Category) Build {
	b := map[glossary.Category][3]float64{
		glossary.Driver: {45, 10.5, 58}, glossary.Wood: {43, 15, 57}, glossary.Hybrid: {40, 22, 59},
		glossary.Iron: {37, 33, 62.5}, glossary.Wedge: {35.5, 50, 64},
	}[c]
	if b[0] == 0 {
		return Build{}
	}
	return Build{Some(b[0] * club.Inch), Some(b[1]), Some(b[2])}
}

// Effect is what one unit of an attribute of the build is taken to do to a
// term, before this player says otherwise: Mean ± SD over players.
type Effect struct {
	Attribute string // length, loft or lie
	Term      Term
	Mean, SD  float64 // term's unit per m of length or per degree
	Source    string
}

// Effects returns the priors that Adjust uses, for a club of the given loft.
//
// Length on speed: ball speed rose by 1.8 m/s from 1.168 to 1.270 m (Kenny,
// Wallace and Otto 2008, Sports Biomechanics 7:322), 1.24 m/s of clubhead at a
// smash factor of 1.45, 12.2 m/s a metre; players differ by as much again.
// Launch rose by an insignificant .8° in the same test: no mean effect on
// attack and loft, with that as the spread. Lie turns the face by tan(loft) a
// degree (geometry); loft turns into dynamic loft one to one (geometry). How
// much of either a player's hands take back was found in no source: four
// fifths and a little more are assumed to remain, with a wide spread.
func Effects(loft float64) []Effect {
	tan := math.Tan(loft * math.Pi / 180)
	const length = "Kenny et al. 2008"
	const hands = "geometry, part taken back by the player (assumed)"
	return []Effect{
		{"length", Speed, 12.2, 12, length},
		{"length", Attack, 0, 8, length},
		{"length", DynamicLoft, 0, 8, length},
		{"loft", DynamicLoft, 0.85, 0.2, hands},
		{"loft", Attack, 0, 0.15, "assumed"},
		{"lie", Face, -0.8 * tan, 0.3 * tan, hands},
		{"lie", FaceToPath, -0.8 * tan, 0.3 * tan, hands},
	}
}

// variance is what the effect leaves uncertain over a difference d of its
// attribute, or over an unknown one.
func (e Effect) variance(d float64, known bool) float64 {
	if known {
		return e.SD * e.SD * d * d
	}
	u := unknown[e.Attribute]
	return (e.Mean*e.Mean + e.SD*e.SD) * u * u
}

// unknown is how far a build of unknown attribute is taken to be from the
// reference, as a standard deviation.
var unknown = map[string]float64{"length": 0.010, "loft": 1, "lie": 1}

// Adjust returns the profile as it would have been with the reference build,
// when it was measured with the given one. The mean moves by the prior effect
// times the difference; the effect's spread is added to the error, and so is
// what an unknown attribute might have done. Adjusting twice is an error.
func (p Profile) Adjust(measured, reference Build) (Profile, error) {
	if p.Reference != nil {
		return Profile{}, &ShotError{0, "profile", "is adjusted already", "adjust the profile as measured"}
	}
	diff := map[string]float64{}
	for _, a := range []struct {
		name      string
		from, to  Opt
		low, high float64
	}{
		{"length", measured.Length, reference.Length, 0.6, 1.4},
		{"loft", measured.Loft, reference.Loft, 4, 75},
		{"lie", measured.Lie, reference.Lie, 40, 80},
	} {
		for _, v := range []Opt{a.from, a.to} {
			if v.Known && !(v.V >= a.low && v.V <= a.high) {
				return Profile{}, &ShotError{0, a.name + " of the build", fmt.Sprintf("%g is outside %g to %g", v.V, a.low, a.high),
					"give the figure itself in m or degrees, not a difference"}
			}
		}
		if !a.to.Known {
			return Profile{}, &ShotError{0, a.name + " of the reference", "is unknown", "start from Reference"}
		}
		if a.from.Known {
			diff[a.name] = a.to.V - a.from.V
		}
	}
	out := p
	out.Reference, out.away = &reference, diff
	out.Notes = append([]string(nil), p.Notes...)
	out.terms = map[Term]Estimate{}
	shift, variance := map[Term]float64{}, map[Term]float64{}
	for _, e := range Effects(reference.Loft.V) {
		d, known := diff[e.Attribute]
		shift[e.Term] += e.Mean * d
		variance[e.Term] += e.variance(d, known)
	}
	for t, e := range p.terms {
		if e.Known {
			e.Mean += shift[t]
			e.Shift = shift[t]
			e.SE = math.Sqrt(e.SE*e.SE + variance[t])
		}
		out.terms[t] = e
	}
	for _, name := range []string{"length", "loft", "lie"} {
		if _, known := diff[name]; !known {
			out.Notes = append(out.Notes, fmt.Sprintf("the %s of the club is unknown: what it may have done is added to the error", name))
		}
	}
	return out, nil
}

// betweenBuilds is the variance that adjusting adds to the difference of a term
// between two profiles of one player. The player's own effect of a build is the
// same at both visits, so that only the difference between the two clubs
// counts: a club hit at both adds nothing. Unknown attributes count twice.
func betweenBuilds(a, b Profile, t Term) float64 {
	if a.Reference == nil {
		return 0
	}
	var v float64
	for _, e := range Effects(a.Reference.Loft.V) {
		if e.Term != t {
			continue
		}
		da, knownA := a.away[e.Attribute]
		db, knownB := b.away[e.Attribute]
		switch {
		case knownA && knownB:
			v += e.variance(db-da, true)
		case knownA || knownB:
			v += e.variance(0, false)
		default:
			v += 2 * e.variance(0, false)
		}
	}
	return v
}
