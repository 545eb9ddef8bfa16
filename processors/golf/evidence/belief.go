package evidence

import (
	"fairlead/ingest/contract/glossary"
	"fmt"
	"math"
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
	// Large is the share of changes that are large: normal about Mean with LargeSD in
	// SD's stead. 0: none. Small changes are then told from luck, and large ones are
	// not taken for small.
	Large, LargeSD float64
}

// parts are the normal parts of the prior with their shares: one, or two.
func (p Prior) parts() []Prior {
	if !(p.Large > 0) {
		return []Prior{p}
	}
	return []Prior{{Mean: p.Mean, SD: p.SD}, {Mean: p.Mean, SD: p.LargeSD}}
}

// share of a part in the prior.
func (p Prior) share(part int) float64 {
	if part == 1 {
		return p.Large
	}
	return 1 - p.Large
}

// Spread is the standard deviation of the whole of it.
func (p Prior) Spread() float64 {
	return math.Sqrt((1-p.Large)*p.SD*p.SD + p.Large*p.LargeSD*p.LargeSD)
}

func (p Prior) check(n glossary.Name) error {
	if math.IsNaN(p.Mean) || math.IsInf(p.Mean, 0) || !(p.SD > 0) || math.IsInf(p.SD, 1) {
		return fmt.Errorf("prior of %s: mean %g and sd %g %s: the mean must be a number, the sd more than 0", n, p.Mean, p.SD, n.Unit())
	}
	if !(p.Doubt >= 0 && p.Doubt < 1) {
		return fmt.Errorf("prior of %s: doubt %g must be 0 or more and less than 1, as %g is", n, p.Doubt, FleetDoubt)
	}
	if !(p.Large >= 0 && p.Large < 1) || p.Large > 0 && (!(p.LargeSD > 0) || math.IsInf(p.LargeSD, 1)) {
		return fmt.Errorf("prior of %s: a share %g of large changes with sd %g: the share must be 0 or more and less than 1, the sd more than 0",
			n, p.Large, p.LargeSD)
	}
	return nil
}

// weakSource is shown where no prior was given.
const weakSource = "weak default: no effect on average, large differences between players; of a spread three changes in four are small"
