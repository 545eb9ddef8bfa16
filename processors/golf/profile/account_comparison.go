package profile

import "strings"

type accountChange struct {
	Term     string   `json:"term"`
	Unit     string   `json:"unit"` // ln: of the logarithm
	Verdict  string   `json:"verdict"`
	More     int      `json:"shots_more"`
	Change   *float64 `json:"change,omitempty"`
	Low      *float64 `json:"ci_low,omitempty"`
	High     *float64 `json:"ci_high,omitempty"`
	PNoise   *float64 `json:"p_noise,omitempty"`
	PSetting *float64 `json:"p_setting,omitempty"`
	ProbLess *float64 `json:"prob_below_margin,omitempty"`
	Told     *float64 `json:"told_from,omitempty"` // a change of this size is told in four of five such comparisons
}

type accountImplication struct {
	Terms []string `json:"terms"`
	Text  string   `json:"text"`
	Try   string   `json:"try"`
}

// ComparisonAccount is what changed between two visits, as it is told in JSON.
type ComparisonAccount struct {
	Before       Account              `json:"before"`
	After        Account              `json:"after"`
	Changes      []accountChange      `json:"changes"`
	Implications []accountImplication `json:"implications"`
}

// TellComparison tells of what changed from the first visit to the second.
func TellComparison(visits []Profile, changes []Change, read []Implication) ComparisonAccount {
	out := ComparisonAccount{Before: visits[0].Account(), After: visits[1].Account()}
	for _, c := range changes {
		row := accountChange{Term: string(c.Term), Unit: unitName(c.Term), Verdict: string(c.Verdict), More: c.More}
		if c.Term == StrikeScatter {
			row.Unit = "ln"
		}
		if c.More == 0 {
			row.Change, row.Low, row.High, row.PNoise, row.PSetting, row.ProbLess, row.Told =
				&c.Diff, &c.Low, &c.High, &c.PNoise, &c.PSetting, &c.ProbLess, &c.Told
		}
		out.Changes = append(out.Changes, row)
	}
	for _, r := range read {
		terms := []string{}
		for _, t := range r.Terms {
			terms = append(terms, string(t))
		}
		out.Implications = append(out.Implications, accountImplication{terms, strings.TrimSpace(r.Text), r.Try})
	}
	return out
}
