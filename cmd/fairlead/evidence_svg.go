package main

import (
	"fmt"
	"strings"

	"fairlead/dashboards/draw"
	"fairlead/ingest/contract/glossary"
	"fairlead/processors/golf/evidence"
)

// evidenceSVG draws what was measured of a comparison.
func evidenceSVG(r evidence.Report) string {
	var rows []draw.Changed
	for _, o := range r.Outcomes {
		if o.NotYet {
			continue
		}
		worse := o.Goal.Way == glossary.Lower || o.Goal.Way == glossary.Toward && (o.Baseline+o.Candidate)/2 > o.Goal.Target
		rows = append(rows, draw.Changed{Name: evidence.PlainName(o.Name), Goal: evidence.GoalText(o.Goal), Change: o.Change, Low: o.Low, High: o.High, Margin: o.Margin, Worse: worse,
			Text: evidence.ChangeText(o.Name, o.Change), Odds: evidence.OddsText(o.ProbBetter), Says: string(o.Verdict)})
	}
	note := "only measured outcomes are drawn; each row has its own scale"
	if r.Trade != nil {
		note = "a trade: " + r.Trade.Statement
	}
	var b strings.Builder
	draw.Changes(fmt.Sprintf("Candidate against baseline, %s", r.Category), note, rows).Write(&b) // a Builder takes everything
	return b.String()
}
