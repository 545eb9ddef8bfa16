package main

import (
	"fairlead/ingest/contract/glossary"
	"fairlead/processors/golf/evidence"
)

type priorJSON struct {
	Mean   float64 `json:"mean"`
	SD     float64 `json:"sd"`
	Source string  `json:"source"`
	// Of a prior with doubt: what it keeps of the weight, and how the shots stand to it.
	Doubt     float64  `json:"doubt,omitempty"`
	Held      *float64 `json:"held,omitempty"`
	Surprise  *float64 `json:"surprise,omitempty"`
	Disagrees bool     `json:"disagrees,omitempty"`
}

type neededJSON struct {
	P50 *int `json:"p50"` // both clubs together; null: more than are looked at
	P90 *int `json:"p90"`
}

type outcomeJSON struct {
	Name        string      `json:"name"`
	Unit        string      `json:"unit"`
	NBaseline   int         `json:"n_baseline"`
	NCandidate  int         `json:"n_candidate"`
	Baseline    *float64    `json:"baseline"`
	Candidate   *float64    `json:"candidate"`
	Estimate    *float64    `json:"estimate"` // of the shots alone
	Change      *float64    `json:"change"`
	Low         *float64    `json:"ci_low"`
	High        *float64    `json:"ci_high"`
	Better      string      `json:"better_is"`
	Target      *float64    `json:"target,omitempty"`
	Assumed     bool        `json:"better_is_assumed,omitempty"`
	ProbBetter  *float64    `json:"prob_better"`
	ProbSame    *float64    `json:"prob_same"`
	Margin      float64     `json:"margin"`
	Prior       priorJSON   `json:"prior"`
	EValue      *float64    `json:"e_value"`
	ShotsNeeded *neededJSON `json:"shots_needed"`
	Verdict     string      `json:"verdict"`
	More        int         `json:"more,omitempty"`
	Why         string      `json:"why,omitempty"`
}

type tradeJSON struct {
	Statement     string  `json:"statement"`
	CarryChange   float64 `json:"carry_change_m"`
	ProbLonger    float64 `json:"prob_longer"`
	WidthBaseline float64 `json:"width_baseline_m"`
	WidthChange   float64 `json:"width_change_m"`
	ProbWider     float64 `json:"prob_wider"`
}

type leftOutJSON struct {
	Trial string `json:"trial"`
	Shots int    `json:"shots"`
	Why   string `json:"why"`
}

type blockJSON struct {
	Build string `json:"build"`
	Shots int    `json:"shots"`
	Why   string `json:"why"`
}

type buyJSON struct {
	Build   string  `json:"build"`
	Outcome string  `json:"outcome"`
	Prob    float64 `json:"prob"`
}

type evidenceJSON struct {
	Category    string        `json:"category"`
	Alpha       float64       `json:"alpha"`
	Outcomes    []outcomeJSON `json:"outcomes"`
	DeltaSpread *float64      `json:"delta_spread"`
	DeltaVar    *float64      `json:"delta_var"`
	F           *float64      `json:"f"`
	P           *float64      `json:"p"`
	ProbTighter *float64      `json:"prob_tighter,omitempty"`
	Trade       *tradeJSON    `json:"trade"`
	OrderKnown  bool          `json:"order_known"`
	Confounded  bool          `json:"club_and_swing_changed_together"`
	LeftOut     []leftOutJSON `json:"left_out"`
	Doubts      []string      `json:"doubts"`
	Next        []blockJSON   `json:"next"`
	Buys        []buyJSON     `json:"next_decides"`
	Done        string        `json:"done,omitempty"`
	Rejected    []badRow      `json:"rejected"`
}

func evidenceOut(r evidence.Report, plan evidence.Plan) evidenceJSON {
	out := evidenceJSON{
		Category: string(r.Category), Alpha: r.Alpha, OrderKnown: r.Order.Known, Confounded: r.Order.Confounded, Done: plan.Done,
		Outcomes: []outcomeJSON{}, LeftOut: []leftOutJSON{}, Doubts: append([]string{}, r.Doubts...), Next: []blockJSON{}, Buys: []buyJSON{}, Rejected: []badRow{},
	}
	for _, o := range r.Outcomes {
		out.Outcomes = append(out.Outcomes, outcomeOut(o))
	}
	if s := r.Spread; s != nil {
		out.DeltaSpread, out.DeltaVar, out.F, out.P = &s.Delta, &s.Variance, &s.F, &s.P
	}
	if t := r.Trade; t != nil {
		out.Trade = &tradeJSON{t.Statement, t.CarryChange, t.ProbLonger, t.WidthBaseline, t.WidthChange, t.ProbWider}
	}
	for _, l := range r.Order.Left {
		out.LeftOut = append(out.LeftOut, leftOutJSON(l))
	}
	for _, b := range plan.Blocks {
		out.Next = append(out.Next, blockJSON(b))
	}
	for _, b := range plan.Buys {
		out.Buys = append(out.Buys, buyJSON{b.Build, string(b.Outcome), b.Prob})
	}
	return out
}

func outcomeOut(o evidence.Statement) outcomeJSON {
	out := outcomeJSON{
		Name: string(o.Name), Unit: o.Unit, NBaseline: o.NBaseline, NCandidate: o.NCandidate, Better: string(o.Goal.Way), Assumed: o.Goal.Assumed,
		Margin: o.Margin, Prior: priorJSON{Mean: o.Prior.Mean, SD: o.Prior.SD, Source: o.Prior.Source, Doubt: o.Prior.Doubt}, Verdict: string(o.Verdict), More: o.More, Why: o.Why,
	}
	if o.Goal.Way == glossary.Toward {
		out.Target = &o.Goal.Target
	}
	if o.NotYet {
		return out
	}
	if a := o.Against; a.Asked {
		out.Prior.Held, out.Prior.Surprise, out.Prior.Disagrees = &a.Held, &a.Surprise, a.Disagrees
	}
	out.Baseline, out.Candidate, out.Estimate = &o.Baseline, &o.Candidate, &o.Estimate
	out.Change, out.Low, out.High = &o.Change, &o.Low, &o.High
	out.ProbBetter, out.ProbSame, out.EValue = &o.ProbBetter, &o.ProbSame, &o.EValue
	count := func(n int) *int {
		if n < 0 {
			return nil
		}
		return &n
	}
	out.ShotsNeeded = &neededJSON{count(o.Needed.P50), count(o.Needed.P90)}
	return out
}
