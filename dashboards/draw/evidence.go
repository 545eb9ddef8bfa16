package draw

import (
	"fmt"

	"fairlead/ingest/contract/glossary"
	"fairlead/processors/golf/evidence"
)

// Evidence draws what was measured of a comparison.
func Evidence(r evidence.Report) *Picture {
	var rows []Changed
	for _, o := range r.Outcomes {
		if o.NotYet {
			continue
		}
		worse := o.Goal.Way == glossary.Lower || o.Goal.Way == glossary.Toward && (o.Baseline+o.Candidate)/2 > o.Goal.Target
		rows = append(rows, Changed{Name: evidence.PlainName(o.Name), Goal: evidence.GoalText(o.Goal), Change: o.Change, Low: o.Low, High: o.High,
			Margin: o.Margin, Worse: worse,
			Text: evidence.ChangeText(o.Name, o.Change), Odds: evidence.OddsText(o.ProbBetter), Says: string(o.Verdict)})
	}
	note := "only measured outcomes are drawn; each row has its own scale"
	if r.Trade != nil {
		note = "a trade: " + r.Trade.Statement
	}
	return Changes(fmt.Sprintf("Candidate against baseline, %s", r.Category), note, rows)
}
