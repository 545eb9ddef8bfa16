package profile

// accountTerm is one term; all its figures are in Unit and are absent while it is
// not known.
type accountTerm struct {
	Term  string        `json:"term"`
	Unit  string        `json:"unit"`
	N     int           `json:"n"`
	Known bool          `json:"known"`
	More  int           `json:"shots_more"`
	Mean  *float64      `json:"mean,omitempty"`
	SE    *float64      `json:"se,omitempty"`
	DF    *float64      `json:"df,omitempty"`
	Low   *float64      `json:"ci_low,omitempty"`
	High  *float64      `json:"ci_high,omitempty"`
	SD    *float64      `json:"shot_sd,omitempty"`
	Shift *float64      `json:"build_shift,omitempty"`
	Bands []accountBand `json:"bands,omitempty"`
}

type accountBand struct {
	Name string  `json:"name"`
	Prob float64 `json:"prob"`
}

type accountSuspect struct {
	Shot   int     `json:"shot"` // from 1, as the rows of the file
	Term   string  `json:"term"`
	Value  float64 `json:"value"`
	Median float64 `json:"median"`
	Score  float64 `json:"robust_sds"`
}

type accountVector struct {
	Names     []string  `json:"names"`
	Values    []float64 `json:"values"`
	Variances []float64 `json:"variances"`
	Missing   []string  `json:"missing"`
}

// Account is a profile as it is told in JSON.
type Account struct {
	Category string           `json:"category"`
	Left     bool             `json:"left"`
	Shots    int              `json:"shots"`
	Adjusted bool             `json:"adjusted"`
	Terms    []accountTerm    `json:"terms"`
	Vector   accountVector    `json:"vector"`
	Suspects []accountSuspect `json:"suspects"`
	Notes    []string         `json:"notes"`
}

func unitName(t Term) string {
	switch t.Unit() {
	case "m/s":
		return "mps"
	case "":
		return "ratio"
	}
	return t.Unit()
}

// Account tells of a profile.
func (p Profile) Account() Account {
	out := Account{Category: string(p.Category), Left: p.Left, Shots: p.Shots, Adjusted: p.Reference != nil,
		Suspects: []accountSuspect{}, Notes: append([]string{}, p.Notes...)}
	for _, e := range p.All() {
		row := accountTerm{Term: string(e.Term), Unit: unitName(e.Term), N: e.N, Known: e.Known, More: e.More}
		if e.Known {
			low, high := e.Interval(0.95)
			row.Mean, row.SE, row.DF, row.Low, row.High = &e.Mean, &e.SE, &e.DF, &low, &high
			if e.Term != StrikeScatter {
				row.SD = &e.SD
			}
			if p.Reference != nil {
				row.Shift = &e.Shift
			}
			for _, b := range p.Bands(e.Term) {
				row.Bands = append(row.Bands, accountBand(b))
			}
		}
		out.Terms = append(out.Terms, row)
	}
	v := p.Vector()
	out.Vector = accountVector{append([]string{}, v.Names...), append([]float64{}, v.Values...), append([]float64{}, v.Variances...),
		append([]string{}, v.Missing...)}
	for _, s := range p.Suspects {
		out.Suspects = append(out.Suspects, accountSuspect{s.Shot + 1, string(s.Term), s.Value, s.Median, s.Score})
	}
	return out
}
