package rolling

import (
	"fmt"
	"strings"

	"fairlead/ingest/contract/glossary"
	"fairlead/processors/golf/evidence"
)

// visitError is the share of false ones among a session's statements that hold
// together, on average.
const visitError = 0.05

// holdTogether marks what holds over everything that was weighed in the session,
// and says of verdicts that stand only for themselves that they do: whoever weighs
// twelve outcomes of five clubs meets a chance finding more often.
func holdTogether(all []Comparison, putts bool) {
	var values []float64
	for i := range all {
		for _, o := range all[i].Outcomes {
			values = append(values, o.EValue) // 0 where nothing can be said yet
		}
	}
	holds := evidence.Holding(values, visitError)
	at := 0
	for i := range all {
		c := &all[i]
		var alone []string
		for k := range c.Outcomes {
			o := &c.Outcomes[k]
			o.Holds = holds[at]
			at++
			switch evidence.Verdict(o.Verdict) {
			case evidence.Better, evidence.Worse, evidence.Moved:
				if !o.Holds {
					alone = append(alone, strings.ToLower(glossary.Told(o.Name, putts).Paper))
				}
			}
		}
		if len(alone) > 0 {
			c.Doubts = append(c.Doubts[:len(c.Doubts):len(c.Doubts)],
				fmt.Sprintf("weighed for itself only: %s; among all %d statements of this session a chance finding is not ruled out yet",
					strings.Join(alone, ", "), len(values)))
		}
	}
}
