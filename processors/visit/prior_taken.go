package visit

import (
	"fmt"

	"fairlead/ingest/contract/event"
	"fairlead/processors/golf/evidence"
)

// Written by the console by itself, so nobody enters it.
var _ = kind(Kind{
	Name: "prior_taken", Bears: OnPages,
	check: func(c *event.Check, ev *event.VisitEvent) {
		t := ev.GetPriorTaken()
		needSession(c, ev)
		c.ID("pair", t.GetPair(), false)
		if len(t.GetPriors()) == 0 && len(t.GetWanders()) == 0 {
			c.Add("priors", "", "missing", "say what is expected of at least one outcome")
		}
		for i, w := range t.GetWanders() {
			at := fmt.Sprintf("wanders[%d].", i)
			c.ID(at+"outcome", w.GetOutcome(), false)
			c.Number(at+"share", w.GetShare(), 0, evidence.MostWander, "")
		}
		for i, p := range t.GetPriors() {
			checkPrior(c, fmt.Sprintf("priors[%d].", i), p)
		}
	},
	later: func(f *folder, ev *event.VisitEvent, _ Said) {
		if s := f.sessionOf(ev); s != nil {
			if s.Priors == nil {
				s.Priors = map[string]*event.PriorTaken{}
			}
			s.Priors[ev.GetPriorTaken().GetPair()] = ev.GetPriorTaken()
		}
	},
	says: says("what the fleet expects of a build taken down"),
})

func checkPrior(c *event.Check, at string, p *event.Prior) {
	c.ID(at+"outcome", p.GetOutcome(), false)
	c.Number(at+"mean", p.GetMean(), -huge, huge, "")
	before := len(c.Faults)
	c.Number(at+"sd", p.GetSd(), 0, huge, "")
	if before == len(c.Faults) && p.GetSd() == 0 {
		c.Add(at+"sd", p.GetSd(), "no doubt at all", "give the standard deviation of what is expected, more than 0")
	}
	before = len(c.Faults)
	c.Number(at+"doubt", p.GetDoubt(), 0, 1, "")
	if before == len(c.Faults) && p.GetDoubt() == 1 {
		c.Add(at+"doubt", p.GetDoubt(), "nothing but doubt", "leave the prior out")
	}
	c.Number(at+"large", p.GetLarge(), 0, 0.999, "")
	c.Number(at+"large_sd", p.GetLargeSd(), 0, huge, "")
	if p.GetLarge() > 0 && p.GetLargeSd() == 0 {
		c.Add(at+"large_sd", p.GetLargeSd(), "no doubt at all", "give the standard deviation of large changes, more than 0")
	}
	c.ID(at+"answer", p.GetAnswer(), true)
	c.ID(at+"office", p.GetOffice(), true)
}
