package evidence

import (
	"fmt"
	"math"

	"fairlead/processors/golf/dispersion"
)

// Prior is what is believed of an effect before the first shot: normal with
// this mean and standard deviation, in the outcome's unit. Source says where
// it comes from and is shown beside the odds. Doubt is the share of belief, from
// 0 to below 1, that is kept back and spread as the weak default: 0 takes the
// prior at its word, FleetDoubt suits one that a model of other players gives.
type Prior struct {
	Mean, SD float64
	Source   string
	Doubt    float64
}

func (p Prior) check(n Name) error {
	if math.IsNaN(p.Mean) || math.IsInf(p.Mean, 0) || !(p.SD > 0) || math.IsInf(p.SD, 1) {
		return fmt.Errorf("prior of %s: mean %g and sd %g %s: the mean must be a number, the sd more than 0", n, p.Mean, p.SD, n.Unit())
	}
	if !(p.Doubt >= 0 && p.Doubt < 1) {
		return fmt.Errorf("prior of %s: doubt %g must be 0 or more and less than 1, as %g is", n, p.Doubt, FleetDoubt)
	}
	return nil
}

// weakSource is shown where no prior was given.
const weakSource = "weak default: no effect on average, large differences between players"

// scale holds, for one category, the margin within which two clubs are
// practically the same, and the sd of the weak prior.
type scale struct{ margin, prior float64 }

// scales declares margins and weak priors before any shot is hit.
//
// Margins are what neither a player feels nor a hole notices, and no device
// repeats better than: half a degree of launch; 150 rpm with a driver, which
// is about a yard of carry, more for shorter clubs, which spin more; 3 m of
// driver carry is less than a third of a club, 1.5 m of wedge is a pace and a
// half; 2 mm on the face is the width of an impact mark's edge. Fifteen percent
// of a standard deviation moves one shot in twenty across a fairway's edge; an
// area multiplies two of them, hence 25 %.
//
// Prior sds are generous: twice what published comparisons of heads and shafts
// found between players (mean effects near zero, half of the individuals
// differing: MacKenzie & Boucher 2016; +1.8 m/s of ball speed for 100 mm of
// length: Kenny et al. 2008).
var scales = map[dispersion.Category]map[Name]scale{
	dispersion.Driver: {
		Launch: {0.5, 2}, Spin: {150, 500}, BallSpeed: {0.5, 1.5}, Carry: {3, 7}, Landing: {1, 3}, Strike: {0.002, 0.005},
		Direction: {0.15, 0.3}, DistanceControl: {0.15, 0.3}, Area: {0.25, 0.45},
	},
	dispersion.Wood: {
		Launch: {0.5, 2}, Spin: {200, 550}, BallSpeed: {0.5, 1.5}, Carry: {3, 7}, Landing: {1, 3}, Strike: {0.002, 0.005},
		Direction: {0.15, 0.3}, DistanceControl: {0.15, 0.3}, Area: {0.25, 0.45},
	},
	dispersion.Hybrid: {
		Launch: {0.5, 2}, Spin: {250, 700}, BallSpeed: {0.4, 1.2}, Carry: {2.5, 6}, Landing: {1, 3}, Strike: {0.002, 0.005},
		Direction: {0.15, 0.3}, DistanceControl: {0.15, 0.3}, Area: {0.25, 0.45},
	},
	dispersion.Iron: {
		Launch: {0.5, 2}, Spin: {250, 800}, BallSpeed: {0.4, 1.2}, Carry: {2, 5}, Landing: {1, 3}, Strike: {0.002, 0.005},
		Direction: {0.15, 0.3}, DistanceControl: {0.15, 0.3}, Area: {0.25, 0.45},
	},
	dispersion.Wedge: {
		Launch: {0.7, 2}, Spin: {350, 900}, BallSpeed: {0.3, 1}, Carry: {1.5, 4}, Landing: {1, 3}, Strike: {0.002, 0.004},
		Direction: {0.15, 0.3}, DistanceControl: {0.15, 0.3}, Area: {0.25, 0.45},
	},
	dispersion.Putter: {
		Launch: {0.3, 0.8}, BallSpeed: {0.05, 0.1}, Strike: {0.002, 0.004},
		Direction: {0.15, 0.3}, DistanceControl: {0.15, 0.3}, Area: {0.25, 0.45},
	},
}

// Margin returns the change of an outcome that counts as practically none, and
// false where the category is not judged on it.
func Margin(c dispersion.Category, n Name) (float64, bool) {
	s, ok := scales[c][n]
	return s.margin, ok
}

// WeakPrior returns the stated default prior of an outcome.
func WeakPrior(c dispersion.Category, n Name) Prior {
	return Prior{SD: scales[c][n].prior, Source: weakSource}
}
