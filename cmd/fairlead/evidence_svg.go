package main

import (
	"fmt"
	"html"
	"math"
	"strings"

	"fairlead/ingest/contract/glossary"
	"fairlead/processors/golf/evidence"
)

// evidenceSVG draws one row for each outcome: the change with its interval,
// each on its own scale, over the band that is practically the same; right is
// better wherever better has a side.
func evidenceSVG(r evidence.Report) string {
	var rows []evidence.Statement
	for _, o := range r.Outcomes {
		if !o.NotYet {
			rows = append(rows, o)
		}
	}
	const width, line, top, from, to = 900.0, 46.0, 84.0, 190.0, 560.0
	height := top + line*float64(len(rows)) + 46
	mid, half := (from+to)/2, (to-from)/2
	var b strings.Builder
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %g %g" width="%g" height="%g" font-family="system-ui,sans-serif" font-size="13" role="img">`+"\n", width, height, width, height)
	fmt.Fprintf(&b, "<title>Candidate against baseline, %s</title>\n<rect width=\"100%%\" height=\"100%%\" fill=\"#fbfaf6\"/>\n", r.Category)
	fmt.Fprintf(&b, `<text x="24" y="28" font-size="17" font-weight="600" fill="#22312b">Candidate against baseline, %s</text>`+"\n", r.Category)
	fmt.Fprintf(&b, `<text x="24" y="48" fill="#4f5d57">bar: 95 %% interval of the change · grey band: practically the same · to the right is better</text>`+"\n")
	fmt.Fprintf(&b, `<text x="%g" y="%g" fill="#4f5d57">change</text><text x="%g" y="%g" fill="#4f5d57">odds better</text><text x="%g" y="%g" fill="#4f5d57">verdict</text>`+"\n", to+16, top-12, to+92, top-12, to+180, top-12)
	for i, o := range rows {
		y := top + line*float64(i) + line/2
		sign := 1.0
		if o.Goal.Way == glossary.Lower || (o.Goal.Way == glossary.Toward && (o.Baseline+o.Candidate)/2 > o.Goal.Target) {
			sign = -1
		}
		span := math.Max(math.Max(math.Abs(o.Low), math.Abs(o.High)), 2*o.Margin) * 1.08
		x := func(v float64) float64 { return mid + half*sign*v/span }
		colour := map[evidence.Verdict]string{evidence.Better: "#2f7d6b", evidence.Worse: "#a3324a", evidence.Same: "#1d4e89"}[o.Verdict]
		if colour == "" {
			colour = "#7a6f55"
		}
		fmt.Fprintf(&b, `<text x="24" y="%.1f" fill="#22312b">%s</text><text x="24" y="%.1f" font-size="11" fill="#4f5d57">better is %s</text>`, y, plainName(o.Name), y+15, html.EscapeString(goalText(o.Goal)))
		fmt.Fprintf(&b, `<rect x="%.1f" y="%.1f" width="%.1f" height="%g" fill="#e3e1d6"/>`, x(-sign*o.Margin), y-15, 2*half*o.Margin/span, line-10)
		fmt.Fprintf(&b, `<line x1="%g" y1="%.1f" x2="%g" y2="%.1f" stroke="#8fa39a"/>`, mid, y-20, mid, y+22)
		fmt.Fprintf(&b, `<line x1="%.1f" y1="%.1f" x2="%.1f" y2="%.1f" stroke="%s" stroke-width="5" stroke-linecap="round"/>`, x(o.Low), y+3, x(o.High), y+3, colour)
		fmt.Fprintf(&b, `<circle cx="%.1f" cy="%.1f" r="6" fill="#fbfaf6" stroke="%s" stroke-width="3"/>`, x(o.Change), y+3, colour)
		fmt.Fprintf(&b, `<text x="%g" y="%.1f" fill="#22312b">%s</text><text x="%g" y="%.1f" fill="#22312b">%s</text>`, to+16, y+7, changeText(o.Name, o.Change), to+92, y+7, oddsText(o.ProbBetter))
		fmt.Fprintf(&b, `<text x="%g" y="%.1f" fill="%s" font-weight="600">%s</text>`+"\n", to+180, y+7, colour, o.Verdict)
	}
	note := "only measured outcomes are drawn; each row has its own scale"
	if r.Trade != nil {
		note = "a trade: " + r.Trade.Statement
	}
	fmt.Fprintf(&b, `<text x="24" y="%g" fill="#4f5d57">%s</text>`+"\n</svg>\n", height-18, html.EscapeString(note))
	return b.String()
}
