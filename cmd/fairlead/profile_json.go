package main

import (
	"math"
	"strings"

	"fairlead/processors/golf/profile"
)

func percent(ln float64) float64 { return 100 * (math.Exp(ln) - 1) }

// termJSON is one term; all its figures are in Unit and are absent while it is
// not known.
type termJSON struct {
	Term  string     `json:"term"`
	Unit  string     `json:"unit"`
	N     int        `json:"n"`
	Known bool       `json:"known"`
	More  int        `json:"shots_more"`
	Mean  *float64   `json:"mean,omitempty"`
	SE    *float64   `json:"se,omitempty"`
	DF    *float64   `json:"df,omitempty"`
	Low   *float64   `json:"ci_low,omitempty"`
	High  *float64   `json:"ci_high,omitempty"`
	SD    *float64   `json:"shot_sd,omitempty"`
	Shift *float64   `json:"build_shift,omitempty"`
	Bands []bandJSON `json:"bands,omitempty"`
}

type bandJSON struct {
	Name string  `json:"name"`
	Prob float64 `json:"prob"`
}

type suspectJSON struct {
	Shot   int     `json:"shot"` // from 1, as the rows of the file
	Term   string  `json:"term"`
	Value  float64 `json:"value"`
	Median float64 `json:"median"`
	Score  float64 `json:"robust_sds"`
}

type vectorJSON struct {
	Names     []string  `json:"names"`
	Values    []float64 `json:"values"`
	Variances []float64 `json:"variances"`
	Missing   []string  `json:"missing"`
}

type profileJSON struct {
	Category string        `json:"category"`
	Left     bool          `json:"left"`
	Shots    int           `json:"shots"`
	Adjusted bool          `json:"adjusted"`
	Terms    []termJSON    `json:"terms"`
	Vector   vectorJSON    `json:"vector"`
	Suspects []suspectJSON `json:"suspects"`
	Notes    []string      `json:"notes"`
}

func unitName(t profile.Term) string {
	switch t.Unit() {
	case "m/s":
		return "mps"
	case "":
		return "ratio"
	}
	return t.Unit()
}

func profileOut(p profile.Profile) profileJSON {
	out := profileJSON{Category: string(p.Category), Left: p.Left, Shots: p.Shots, Adjusted: p.Reference != nil,
		Suspects: []suspectJSON{}, Notes: append([]string{}, p.Notes...)}
	for _, e := range p.All() {
		row := termJSON{Term: string(e.Term), Unit: unitName(e.Term), N: e.N, Known: e.Known, More: e.More}
		if e.Known {
			low, high := e.Interval(0.95)
			row.Mean, row.SE, row.DF, row.Low, row.High = &e.Mean, &e.SE, &e.DF, &low, &high
			if e.Term != profile.StrikeScatter {
				row.SD = &e.SD
			}
			if p.Reference != nil {
				row.Shift = &e.Shift
			}
			for _, b := range p.Bands(e.Term) {
				row.Bands = append(row.Bands, bandJSON(b))
			}
		}
		out.Terms = append(out.Terms, row)
	}
	v := p.Vector()
	out.Vector = vectorJSON{append([]string{}, v.Names...), append([]float64{}, v.Values...), append([]float64{}, v.Variances...), append([]string{}, v.Missing...)}
	for _, s := range p.Suspects {
		out.Suspects = append(out.Suspects, suspectJSON{s.Shot + 1, string(s.Term), s.Value, s.Median, s.Score})
	}
	return out
}

type changeJSON struct {
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
}

type implicationJSON struct {
	Terms []string `json:"terms"`
	Text  string   `json:"text"`
	Try   string   `json:"try"`
}

type comparisonJSON struct {
	Before       profileJSON       `json:"before"`
	After        profileJSON       `json:"after"`
	Changes      []changeJSON      `json:"changes"`
	Implications []implicationJSON `json:"implications"`
}

func comparisonOut(visits []profile.Profile, changes []profile.Change, read []profile.Implication) comparisonJSON {
	out := comparisonJSON{Before: profileOut(visits[0]), After: profileOut(visits[1])}
	for _, c := range changes {
		row := changeJSON{Term: string(c.Term), Unit: unitName(c.Term), Verdict: string(c.Verdict), More: c.More}
		if c.Term == profile.StrikeScatter {
			row.Unit = "ln"
		}
		if c.More == 0 {
			row.Change, row.Low, row.High, row.PNoise, row.PSetting, row.ProbLess = &c.Diff, &c.Low, &c.High, &c.PNoise, &c.PSetting, &c.ProbLess
		}
		out.Changes = append(out.Changes, row)
	}
	for _, r := range read {
		terms := []string{}
		for _, t := range r.Terms {
			terms = append(terms, string(t))
		}
		out.Implications = append(out.Implications, implicationJSON{terms, strings.TrimSpace(r.Text), r.Try})
	}
	return out
}
