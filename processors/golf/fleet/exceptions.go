package fleet

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// Exception is a player for whom one step of an attribute does something else
// than for most, by the player's pseudonym.
type Exception struct {
	Player string `json:"player"`
	// Change is the best linear prediction of the player's own change for one
	// step, curvature left out, with the standard deviation of its error.
	Change float64 `json:"change"`
	SD     float64 `json:"sd"`
	Gains  float64 `json:"chance_of_gain"`
}

// Exceptions lists the players who gain most and those who lose most by one step,
// each by what is surely there (a gain or loss in standard deviations), most at
// either end. It needs the rows of the fit.
func (a *Answer) Exceptions(attribute Attribute, most int) ([]Exception, error) {
	w := a.Fit.work
	var all []Exception
	for j, id := range w.ids {
		b := w.varies[j]
		at := slices.Index(w.Columns, attribute.Name())
		if at < 0 || b>>min(at, 63)&1 == 0 {
			continue // never tried it
		}
		own, err := a.Fit.Own(id)
		if err != nil {
			return nil, err
		}
		sd := math.Sqrt(max(own.Cov[at][at], 1e-300))
		all = append(all, Exception{id, own.Mean[at], sd, distuv.UnitNormal.CDF(own.Mean[at] * a.Outcome.Better / sd)})
	}
	slices.SortFunc(all, func(x, y Exception) int {
		return cmp.Or(cmp.Compare(y.Gains, x.Gains), cmp.Compare(x.Player, y.Player))
	})
	if len(all) > 2*most {
		all = append(all[:most:most], all[len(all)-most:]...)
	}
	return all, nil
}
