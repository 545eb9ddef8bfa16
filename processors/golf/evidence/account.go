package evidence

import (
	"fairlead/ingest/contract/unit/table"
	"fairlead/processors/golf/strokes"
)

type accountPrior struct {
	Mean   float64 `json:"mean"`
	SD     float64 `json:"sd"`
	Source string  `json:"source"`
	// The share of changes that are believed to be large, with their sd.
	Large   float64 `json:"large,omitempty"`
	LargeSD float64 `json:"large_sd,omitempty"`
	// Of a prior with doubt: what it keeps of the weight, and how the shots stand to it.
	Doubt     float64  `json:"doubt,omitempty"`
	Held      *float64 `json:"held,omitempty"`
	Surprise  *float64 `json:"surprise,omitempty"`
	Disagrees bool     `json:"disagrees,omitempty"`
}

type accountNeeded struct {
	P50 *int `json:"p50"` // both clubs together; null: more than are looked at
	P90 *int `json:"p90"`
}

type accountOutcome struct {
	Name        string         `json:"name"`
	Unit        string         `json:"unit"`
	NBaseline   int            `json:"n_baseline"`
	NCandidate  int            `json:"n_candidate"`
	Baseline    *float64       `json:"baseline"`
	Candidate   *float64       `json:"candidate"`
	Estimate    *float64       `json:"estimate"` // of the shots alone
	Change      *float64       `json:"change"`
	Low         *float64       `json:"ci_low"`
	High        *float64       `json:"ci_high"`
	Better      string         `json:"better_is"`
	Target      *float64       `json:"target,omitempty"`
	Assumed     bool           `json:"better_is_assumed,omitempty"`
	ProbBetter  *float64       `json:"prob_better"`
	ProbSame    *float64       `json:"prob_same"`
	Margin      float64        `json:"margin"`
	Prior       accountPrior   `json:"prior"`
	EValue      *float64       `json:"e_value"`
	ShotsNeeded *accountNeeded `json:"shots_needed"`
	Verdict     string         `json:"verdict"`
	More        int            `json:"more,omitempty"`
	Why         string         `json:"why,omitempty"`
}

type accountTrade struct {
	Statement     string  `json:"statement"`
	CarryChange   float64 `json:"carry_change_m"`
	ProbLonger    float64 `json:"prob_longer"`
	WidthBaseline float64 `json:"width_baseline_m"`
	WidthChange   float64 `json:"width_change_m"`
	ProbWider     float64 `json:"prob_wider"`
}

type accountLeft struct {
	Trial string `json:"trial"`
	Shots int    `json:"shots"`
	Why   string `json:"why"`
}

type accountBlock struct {
	Build string `json:"build"`
	Shots int    `json:"shots"`
	Why   string `json:"why"`
}

type accountBuy struct {
	Build   string  `json:"build"`
	Outcome string  `json:"outcome"`
	Prob    float64 `json:"prob"`
}

// Account is a comparison as it is told in JSON, whose keys carry their unit; what is
// not yet known is null.
type Account struct {
	Category    string           `json:"category"`
	Alpha       float64          `json:"alpha"`
	Outcomes    []accountOutcome `json:"outcomes"`
	DeltaSpread *float64         `json:"delta_spread"`
	DeltaVar    *float64         `json:"delta_var"`
	F           *float64         `json:"f"`
	P           *float64         `json:"p"`
	ProbTighter *float64         `json:"prob_tighter,omitempty"`
	Trade       *accountTrade    `json:"trade"`
	Strokes     *strokes.Worth   `json:"strokes"`
	OrderKnown  bool             `json:"order_known"`
	Confounded  bool             `json:"club_and_swing_changed_together"`
	LeftOut     []accountLeft    `json:"left_out"`
	Doubts      []string         `json:"doubts"`
	Next        []accountBlock   `json:"next"`
	Buys        []accountBuy     `json:"next_decides"`
	Done        string           `json:"done,omitempty"`
	Rejected    []table.Left     `json:"rejected"`
}
