package profile

import (
	"fmt"
	"math"
)

// Moment is what is kept of one quantity of a trial: how many values, their mean, and
// the sum of their squares about it, in the quantity's unit.
type Moment struct {
	N        uint32
	Mean, SS float64
}

// With is the moment of both lots together (Chan, Golub & LeVeque 1983, Am. Stat. 37:242).
func (m Moment) With(o Moment) Moment {
	if m.N == 0 || o.N == 0 {
		return Moment{m.N + o.N, m.Mean + o.Mean, m.SS + o.SS}
	}
	n, d := float64(m.N+o.N), o.Mean-m.Mean
	return Moment{m.N + o.N, m.Mean + d*float64(o.N)/n, m.SS + o.SS + d*d*float64(m.N)*float64(o.N)/n}
}

func (m Moment) estimate(t Term) Estimate {
	if m.N < MinShots {
		return Estimate{Term: t, N: int(m.N), More: MinShots - int(m.N)}
	}
	return ofMean(t, int(m.N), m.Mean, math.Sqrt(m.SS/float64(m.N-1)))
}

// FromMoments describes the swing where only the moments of its quantities were kept.
// Face to path is face less path where it was not measured itself. The strike's
// scatter is described by its two axes as if they went their own ways, since moments
// hold no covariance; no shot is suspect and no drift is seen. The error is of a
// category without a full swing.
func FromMoments(of map[Term]Moment, o Options) (Profile, error) {
	if _, ok := bands[o.Category]; !ok {
		return Profile{}, &ShotError{0, "category", fmt.Sprintf("%q has no full swing to describe", o.Category),
			"use driver, wood, hybrid, iron or wedge"}
	}
	p := Profile{Category: o.Category, Left: o.Left, terms: map[Term]Estimate{}}
	face, path := of[Face], of[Path]
	twisted := of[FaceToPath]
	if twisted.N < MinShots && face.N >= MinShots && path.N >= MinShots {
		n := min(face.N, path.N)
		spread := face.SS/float64(face.N-1) + path.SS/float64(path.N-1)
		twisted = Moment{n, face.Mean - path.Mean, spread * float64(n-1)}
	}
	for _, t := range Terms() {
		m := of[t]
		switch t {
		case FaceToPath:
			m = twisted
		case StrikeScatter:
			p.terms[t] = scatterOf(of[StrikeX], of[StrikeY])
			continue
		}
		if o.Left && (t == Path || t == Face || t == FaceToPath) {
			m.Mean = -m.Mean
		}
		p.terms[t] = m.estimate(t)
		p.Shots = max(p.Shots, int(m.N))
	}
	return p, nil
}

// scatterOf is newScatter without a covariance.
func scatterOf(x, y Moment) Estimate {
	n := int(min(x.N, y.N))
	if n < MinShots {
		return Estimate{Term: StrikeScatter, N: n, More: MinShots - n}
	}
	least := math.Pow(facts[StrikeScatter].resolution, 2) / 12
	return scatterEstimate(n, math.Max(x.SS/float64(x.N-1), least), math.Max(y.SS/float64(y.N-1), least), 0)
}
