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
}

func (p Prior) check(n glossary.Name) error {
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
